// Many parts with the true shapes. Blocks of parts are dealt to the threads; whole numbers are summed as they come,
// decimal ones block by block in order, so that the number of threads changes nothing.
#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

#include "calc/tolerance/intervals.h"
#include "calc/tolerance/judge.h"
#include "calc/tolerance/mend.h"
#include "maths/statistics.h"

namespace fettle::tolerance {

using namespace inner;

namespace {

struct Histogram {
  double first = 0, step = 0;
};

/// Range that holds the limits and five and a half standard deviations.
Histogram range_of(const Ledger& ledger, int requirement, int bins) {
  const Requirement& r = ledger.route.requirements[static_cast<std::size_t>(requirement)];
  const Linear l = linear_of(ledger, requirement);
  const bool zone = !ledger.shapes[static_cast<std::size_t>(requirement)].pair.empty();
  double low = l.mean - 5.5 * l.s, high = l.mean + 5.5 * l.s;
  if (zone) low = 0, high = 2 * (std::fabs(l.mean) + 5.5 * l.s);
  if (r.lower) low = std::min(low, *r.lower);
  if (r.upper) high = std::max(high, *r.upper);
  const double edge = zone ? 0 : 0.02 * (high - low);
  low -= edge;
  high += 0.02 * (high - low);
  if (!(high > low)) high = low + std::max(1e-9, std::fabs(low) * 1e-6);
  return {low, (high - low) / bins};
}

/// What one requirement has gathered; whole numbers and extremes do not depend on the order.
struct Tally {
  long long outside = 0, below = 0, above = 0, read_outside = 0;
  std::vector<long long> bins;
  std::vector<int> build_hits;
  double least = 0, most = 0;
  int least_part = -1, most_part = -1;
};
void join(Tally& to, const Tally& from) {
  to.outside += from.outside;
  to.below += from.below;
  to.above += from.above;
  to.read_outside += from.read_outside;
  for (std::size_t i = 0; i < to.bins.size(); ++i) to.bins[i] += from.bins[i];
  for (std::size_t i = 0; i < to.build_hits.size(); ++i) to.build_hits[i] += from.build_hits[i];
  const auto first = [](int part, int other) { return part >= 0 && (other < 0 || part < other); };
  if (from.least_part >= 0 &&
      (to.least_part < 0 || from.least < to.least || (from.least == to.least && first(from.least_part, to.least_part))))
    to.least = from.least, to.least_part = from.least_part;
  if (from.most_part >= 0 &&
      (to.most_part < 0 || from.most > to.most || (from.most == to.most && first(from.most_part, to.most_part))))
    to.most = from.most, to.most_part = from.most_part;
}
struct Sums {
  double sum = 0, square = 0;  ///< about the requirement's linear mean
};

struct Hands {  ///< of one thread
  std::vector<Tally> tally;
  Tally any;
  MendTally mend;
  long long not_on = 0;
};

class Run {
 public:
  Run(const Ledger& ledger, const SampleInputs& in, std::vector<int> which, bool figures)
      : ledger_(ledger),
        in_(in),
        which_(std::move(which)),
        figures_(figures),
        drawing_(ledger, in, columns_of(ledger, which_)),
        sizes_(build_sizes(in)) {
    for (const int r : which_) {
      plans_.push_back(requirement_plan(ledger, static_cast<std::size_t>(r)));
      histogram_.push_back(figures ? range_of(ledger, r, in.bins) : Histogram{});
      centre_.push_back(figures ? histogram_.back().first + 0.5 * in.bins * histogram_.back().step : 0);
    }
    if (in.mending && figures) mending_ = Mending(ledger, drawing_, plans_);
    sums_.resize(figures ? static_cast<std::size_t>(drawing_.blocks()) * plans_.size() : 0);
  }

  Hands work(base::Halt* halt) {
    const int threads = std::min(in_.threads, drawing_.blocks());
    std::vector<Hands> hands(static_cast<std::size_t>(threads));
    std::atomic<int> next{0};
    const auto job = [&](Hands& mine) {
      start(mine);
      Desk desk{drawing_.room(), {}, {}, {}, mending_.room()};
      for (int b = next++; b < drawing_.blocks() && !base::asked(halt); b = next++) block(b, desk, mine);
    };
    std::vector<std::thread> pool;
    for (std::size_t t = 1; t < hands.size(); ++t) pool.emplace_back([&, t] { job(hands[t]); });
    job(hands[0]);
    for (std::thread& t : pool) t.join();
    for (std::size_t t = 1; t < hands.size(); ++t) {
      for (std::size_t r = 0; r < plans_.size(); ++r) join(hands[0].tally[r], hands[t].tally[r]);
      join(hands[0].any, hands[t].any);
      hands[0].mend.join(hands[t].mend);
      hands[0].not_on += hands[t].not_on;
    }
    return std::move(hands[0]);
  }

  SampleResult result(const Hands& all) const {
    SampleResult out;
    Levels any_levels;
    double any_effect = 1;
    for (std::size_t r = 0; r < plans_.size(); ++r) {
      const double effect = effect_of(r, all.tally[r]);
      out.requirements.push_back(outcomes(r, all, effect));
      if (levels_of(ledger_, which_[r]).shared()) any_levels.nest = 1;
      any_effect = std::max(any_effect, effect);
    }
    if (any_levels.shared()) {
      any_levels = {};  // by count alone: what the builds show
      any_levels.nest = 1e-300;
      any_levels.part = 1;
      any_effect = std::max(any_effect, design_effect(ledger_, in_, any_levels, all.any.build_hits));
    }
    out.any_outside = share_of(all.any.outside, in_.parts, any_effect, in_.confidence);
    out.not_on = all.not_on;
    if (mending_.on()) out.mended = mending_.over_all(all.mend, all.any.outside, in_, any_effect);
    return out;
  }

  double effect_of(std::size_t r, const Tally& tally) const {
    return design_effect(ledger_, in_, levels_of(ledger_, which_[r]), tally.build_hits);
  }

 private:
  /// Working room of one thread.
  struct Desk {
    Block block;
    std::vector<Lanes> y;
    std::vector<const Lanes*> at;
    Verdicts verdicts;
    MendRoom mend;
  };

  static std::vector<char> columns_of(const Ledger& ledger, const std::vector<int>& which) {
    std::vector<char> wanted(static_cast<std::size_t>(ledger.columns), 0);
    const std::size_t n = ledger.route.requirements.size();
    for (const int r : which)
      for (int nest = 0; nest < ledger.route.nests; ++nest) {
        const Shape& s = ledger.shapes[static_cast<std::size_t>(nest) * n + static_cast<std::size_t>(r)];
        for (const std::vector<Row>* rows : {&s.scalar, &s.pair, &s.bonus, &s.datum_bonus})
          for (const Row& row : *rows)
            for (const int c : row.column) wanted[static_cast<std::size_t>(c)] = 1;
        for (const int c : s.reading.column) wanted[static_cast<std::size_t>(c)] = 1;
      }
    return wanted;
  }

  void start(Hands& h) const {
    Tally empty;
    empty.build_hits.assign(sizes_.size(), 0);
    h.any = empty;
    if (figures_) empty.bins.assign(static_cast<std::size_t>(in_.bins), 0);
    h.tally.assign(plans_.size(), empty);
    h.mend = mending_.tally();
  }

  void block(int b, Desk& desk, Hands& mine) {
    Block& block = desk.block;
    drawing_.draw(b, block);
    for (int l = 0; l < block.count; ++l) mine.not_on += block.not_on[static_cast<std::size_t>(l)];
    std::array<std::uint8_t, lanes> any{};
    if (mending_.on()) mending_.begin(drawing_, block, desk.mend);
    for (std::size_t r = 0; r < plans_.size(); ++r) {
      const RequirementPlan& plan = plans_[r];
      if (desk.y.size() < plan.rows.size()) desk.y.resize(plan.rows.size());
      desk.at.clear();
      for (std::size_t i = 0; i < plan.rows.size(); ++i) {
        evaluate(plan.rows[i], block.x, desk.y[i]);
        desk.at.push_back(&desk.y[i]);
      }
      judge(plan, desk.at, desk.verdicts);
      for (std::size_t l = 0; l < lanes; ++l) any[l] |= desk.verdicts.outside[l];
      count(r, block, desk.verdicts, mine.tally[r]);
      if (figures_) figure(r, b, block, desk.verdicts, mine.tally[r]);
      if (plan.has_reading) read(plan, block, desk.verdicts, mine.tally[r]);
      if (mending_.on()) mending_.requirement(r, plan, block, desk.y, desk.verdicts, desk.mend, mine.mend);
    }
    for (int l = 0; l < block.count; ++l) {
      const auto i = static_cast<std::size_t>(l);
      mine.any.outside += any[i];
      mine.any.build_hits[static_cast<std::size_t>(block.build[i])] += any[i];
    }
    if (mending_.on()) mending_.end(block, desk.mend, mine.mend);
  }

  static void count(std::size_t, const Block& block, const Verdicts& v, Tally& t) {
    for (int l = 0; l < block.count; ++l) {
      const auto i = static_cast<std::size_t>(l);
      if (!v.outside[i]) continue;
      ++t.outside;
      t.below += v.below[i];
      t.above += v.above[i];
      ++t.build_hits[static_cast<std::size_t>(block.build[i])];
    }
  }

  void figure(std::size_t r, int b, const Block& block, const Verdicts& v, Tally& t) {
    const double centre = centre_[r], first = histogram_[r].first, per_step = 1 / histogram_[r].step;
    const double top = in_.bins - 1;
    std::array<double, 4> sum{}, square{};
    double least = v.value.v[0], most = least;
    for (int l = 0; l < block.count; ++l) {
      const double x = v.value.v[l], d = x - centre;
      const auto lane = static_cast<std::size_t>(l % 4);
      sum[lane] += d;
      square[lane] += d * d;
      least = x < least ? x : least;
      most = most < x ? x : most;
      const double at = (x - first) * per_step;
      ++t.bins[static_cast<std::size_t>(at > 0 ? (at < top ? at : top) : 0.0)];
    }
    sums_[static_cast<std::size_t>(b) * plans_.size() + r] = {(sum[0] + sum[1]) + (sum[2] + sum[3]),
                                                              (square[0] + square[1]) + (square[2] + square[3])};
    const auto part = [&](double x) {
      int l = 0;
      while (v.value.v[l] != x) ++l;
      return block.first + l;
    };
    if (t.least_part < 0 || least <= t.least) {
      const int p = part(least);
      if (t.least_part < 0 || least < t.least || p < t.least_part) t.least = least, t.least_part = p;
    }
    if (t.most_part < 0 || most >= t.most) {
      const int p = part(most);
      if (t.most_part < 0 || most > t.most || p < t.most_part) t.most = most, t.most_part = p;
    }
  }

  static void read(const RequirementPlan& plan, const Block& block, const Verdicts& v, Tally& t) {
    Lanes error;
    evaluate(plan.reading, block.x, error);
    for (int l = 0; l < block.count; ++l) {
      const double x = v.value.v[l] + error.v[l];
      t.read_outside += !(x >= plan.low && x <= plan.high);
    }
  }

  Outcomes outcomes(std::size_t r, const Hands& all, double effect) const {
    const Tally& t = all.tally[r];
    const RequirementPlan& plan = plans_[r];
    Outcomes o;
    o.outside = share_of(t.outside, in_.parts, effect, in_.confidence);
    o.below = share_of(t.below, in_.parts, effect, in_.confidence);
    o.above = share_of(t.above, in_.parts, effect, in_.confidence);
    if (plan.has_reading) o.read_outside = share_of(t.read_outside, in_.parts, effect, in_.confidence);
    builds(t, o);
    if (!figures_) return o;
    Sums s;
    for (std::size_t b = 0; b < static_cast<std::size_t>(drawing_.blocks()); ++b) {
      s.sum += sums_[b * plans_.size() + r].sum;
      s.square += sums_[b * plans_.size() + r].square;
    }
    const double n = in_.parts;
    o.mean = centre_[r] + s.sum / n;
    o.s = n > 1 ? std::sqrt(std::max(0.0, (s.square - s.sum * (s.sum / n)) / (n - 1))) : 0;
    o.least = t.least;
    o.most = t.most;
    o.worst_part = worst_part(plan, t);
    const double cpu = (plan.high - o.mean) / (3 * o.s), cpl = (o.mean - plan.low) / (3 * o.s);
    const bool both = std::isfinite(plan.low) && std::isfinite(plan.high);
    o.cpk = std::min(cpu, cpl);
    o.cp = both ? (plan.high - plan.low) / (6 * o.s) : o.cpk;
    o.first = histogram_[r].first;
    o.step = histogram_[r].step;
    for (const long long b : t.bins) o.bins.push_back(static_cast<double>(b) / n);
    if (mending_.on()) o.mended = mending_.of(r, all.mend, all.any.outside, in_, effect);
    return o;
  }

  /// Of the least and the most the one nearer its limit, or farther beyond it.
  static int worst_part(const RequirementPlan& plan, const Tally& t) {
    if (!std::isfinite(plan.high)) return t.least_part;
    if (!std::isfinite(plan.low)) return t.most_part;
    return t.most - plan.high >= plan.low - t.least ? t.most_part : t.least_part;
  }

  void builds(const Tally& t, Outcomes& o) const {
    std::vector<double> share;
    for (std::size_t b = 0; b < sizes_.size(); ++b) share.push_back(static_cast<double>(t.build_hits[b]) / sizes_[b]);
    std::sort(share.begin(), share.end());
    o.build_low = maths::quantile_of_sorted(share, 0.05);
    o.build_high = maths::quantile_of_sorted(share, 0.95);
  }

  const Ledger& ledger_;
  SampleInputs in_;
  std::vector<int> which_;
  bool figures_;
  Drawing drawing_;
  std::vector<int> sizes_;
  std::vector<RequirementPlan> plans_;
  std::vector<Histogram> histogram_;
  std::vector<double> centre_;
  Mending mending_;
  std::vector<Sums> sums_;
};

}  // namespace

Outcome<SampleResult> sample(const Ledger& ledger, const SampleInputs& in, base::Halt* halt) {
  Problems wrong;
  const auto no = [&](const std::string& what, const std::string& found, const std::string& expected) {
    wrong.push_back(bad(what, found, expected));
  };
  if (!(in.parts >= 1)) no("not a number of parts", std::to_string(in.parts), "1 or more");
  if (!(in.confidence > 0 && in.confidence < 1))
    no("not a confidence", std::to_string(in.confidence), "between 0 and 1");
  if (!(in.threads >= 1)) no("not a number of threads", std::to_string(in.threads), "1 or more");
  if (!(in.parts_per_build >= 1)) no("not a number of parts", std::to_string(in.parts_per_build), "1 or more");
  if (!(in.parts_per_set_up >= 1)) no("not a number of parts", std::to_string(in.parts_per_set_up), "1 or more");
  if (!(in.bins >= 1)) no("not a number of bins", std::to_string(in.bins), "1 or more");
  if (!wrong.empty()) return wrong;
  std::vector<int> all;
  for (std::size_t r = 0; r < ledger.route.requirements.size(); ++r) all.push_back(static_cast<int>(r));
  Run run(ledger, in, all, true);
  const Hands hands = run.work(halt);
  if (halt != nullptr && halt->over()) return bad("stopped");
  return run.result(hands);
}

Share share_outside(const Ledger& ledger, int requirement, const SampleInputs& in, base::Halt* halt) {
  SampleInputs alone = in;
  alone.mending = false;
  Run run(ledger, alone, {requirement}, false);
  const auto all = run.work(halt);
  return share_of(all.tally[0].outside, in.parts, run.effect_of(0, all.tally[0]), in.confidence);
}

}  // namespace fettle::tolerance
