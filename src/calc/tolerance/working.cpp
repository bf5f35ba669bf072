#include "calc/tolerance/working.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <numeric>

#include "base/text.h"
#include "maths/simplex.h"

namespace fettle::tolerance {

namespace {

using maths::LinearAnswer;
using maths::LinearProgram;
using maths::LinearRow;
using Sense = LinearRow::Sense;
using std::size_t;

/// Place of a surface as a signed sum: raw sizes, then cuts, then where each loose piece of the chart begins.
using Form = std::vector<double>;

struct Chart {
  const WorkingInputs& in;
  size_t raws = 0, cuts = 0;
  size_t begins = 0;  ///< loose pieces
  std::map<std::string, Form> now;
  std::vector<Resultant> resultants;
  std::vector<Form> forms;  ///< of the resultants
  bool broken = false;      ///< a cut hangs on nothing: what is not tied together has that one reason
  Problems problems;

  explicit Chart(const WorkingInputs& i) : in(i), raws(i.raw.size()), cuts(i.cuts.size()) {}
  size_t columns() const { return raws + cuts; }
  Form blank() const { return Form(columns(), 0.0); }
};

void add(Form& to, const Form& what, double factor) {
  if (to.size() < what.size()) to.resize(what.size(), 0.0);
  for (size_t i = 0; i < what.size(); ++i) to[i] += factor * what[i];
}
Form difference(const Form& a, const Form& b) {
  Form d = a;
  add(d, b, -1);
  return d;
}
std::string named(const WorkingCut& c) {
  if (!c.name.empty()) return c.name;
  return fmt::format("{}: {} to {}", c.operation, base::join(c.from, " and "), c.made);
}

void check_numbers(Chart& c) {
  const auto refuse = [&](bool good, const std::string& what, double found, const char* expected) {
    if (!good) c.problems.push_back(bad(what, base::shortest(found), expected));
  };
  for (const RawSize& r : c.in.raw) {
    refuse(std::isfinite(r.size), r.name + ": raw size", r.size, "a length");
    refuse(std::isfinite(r.tolerance) && r.tolerance >= 0, r.name + ": raw tolerance", r.tolerance, "0 or more");
  }
  for (const WorkingCut& k : c.in.cuts) {
    const std::string n = named(k);
    refuse(std::isfinite(k.about), n + ": about", k.about, "a length");
    refuse(std::isfinite(k.holds) && k.holds > 0, n + ": what the process holds", k.holds, "above 0");
    refuse(k.side >= -1 && k.side <= 1, n + ": side", k.side, "-1, 0 or 1");
    for (const auto& s : {k.least_stock, k.most_stock})
      if (s) refuse(std::isfinite(*s) && k.side != 0, n + ": stock", *s, "a length, on a cut whose side is said");
    if (k.least_stock && k.most_stock)
      refuse(*k.least_stock < *k.most_stock, n + ": most stock", *k.most_stock, "above the least stock");
    if (k.from.empty() || k.made.empty())
      c.problems.push_back(bad(n + ": a cut goes from one or more surfaces to the one it makes"));
  }
  for (const DrawingLimit& d : c.in.drawing) {
    for (const auto& s : {d.lower, d.upper})
      if (s) refuse(std::isfinite(*s), d.name + ": limit", *s, "a length");
    if (!d.lower && !d.upper) c.problems.push_back(bad(d.name + ": a drawing dimension needs a limit"));
    if (d.lower && d.upper) refuse(*d.lower < *d.upper, d.name + ": upper limit", *d.upper, "above the lower one");
  }
  refuse(c.in.widest >= 1 && std::isfinite(c.in.widest), "widest", c.in.widest, "1 or more");
  if (c.in.cuts.empty()) c.problems.push_back(bad("a chart of working dimensions needs at least one cut"));
}

void place_raw(Chart& c) {
  // Raw sizes may be listed in any order: take those that hang on something known first, else begin a new piece.
  std::vector<bool> done(c.raws, false);
  for (size_t round = 0; round < c.raws; ++round) {
    size_t pick = c.raws;
    for (size_t i = 0; i < c.raws && pick == c.raws; ++i)
      if (!done[i] && (c.now.count(c.in.raw[i].from) + c.now.count(c.in.raw[i].to)) > 0) pick = i;
    for (size_t i = 0; i < c.raws && pick == c.raws; ++i)
      if (!done[i]) pick = i;
    done[pick] = true;
    const RawSize& r = c.in.raw[pick];
    const bool from = c.now.count(r.from) > 0, to = c.now.count(r.to) > 0;
    if (r.from == r.to || (from && to)) {
      c.problems.push_back(
          bad(r.name + ": this raw size closes a loop", r.from + " to " + r.to, "raw surfaces tied together once"));
      continue;
    }
    if (!from && !to) {
      Form begin = c.blank();
      begin.resize(c.columns() + ++c.begins, 0.0);
      begin.back() = 1;
      c.now[r.from] = begin;
    }
    const std::string& known = to ? r.to : r.from;
    Form f = c.now.at(known);
    f[pick] += to ? -1 : 1;
    c.now[to ? r.from : r.to] = f;
  }
}

void keep(Chart& c, Resultant r, const Form& f) {
  for (size_t i = 0; i < f.size(); ++i)
    if (i >= c.columns() && std::fabs(f[i]) > 1e-12) {
      if (c.broken) return;
      c.problems.push_back(bad(r.name + ": its two ends are not tied together by any chain of sizes and cuts", {},
                               "a raw size or a cut that joins them"));
      return;
    }
  for (size_t i = 0; i < c.columns(); ++i)
    if (std::fabs(f[i]) > 1e-12) r.chain.push_back({i < c.raws, static_cast<int>(i < c.raws ? i : i - c.raws), f[i]});
  Form kept(f.begin(), f.begin() + static_cast<std::ptrdiff_t>(c.columns()));
  c.forms.push_back(kept);
  c.resultants.push_back(std::move(r));
}

void place_cuts(Chart& c, std::vector<std::pair<Resultant, Form>>& stocks) {
  std::map<std::string, Form> clamped;  // as the part went into the clamping
  for (size_t j = 0; j < c.cuts; ++j) {
    const WorkingCut& k = c.in.cuts[j];
    if (j == 0 || k.operation != c.in.cuts[j - 1].operation) clamped = c.now;
    const std::map<std::string, Form>& there = k.within ? c.now : clamped;
    Form f = c.blank();
    bool known = true;
    for (const std::string& s : k.from) {
      const auto it = there.find(s);
      if (it == there.end()) {
        std::vector<std::string> names;
        for (const auto& [n, form] : there) names.push_back(n);
        c.problems.push_back(bad(named(k) + ": it is located on a surface that is not there yet", s,
                                 base::join(names, ", "), base::nearest(s, names)));
        known = false;
        continue;
      }
      add(f, it->second, 1 / static_cast<double>(k.from.size()));
    }
    f[c.raws + j] += 1;
    const auto old = c.now.find(k.made);
    if (known && (k.least_stock || k.most_stock)) {
      if (old == c.now.end()) {
        c.problems.push_back(bad(named(k) + ": stock is asked of a surface that was not there before", k.made,
                                 "a raw size or an earlier cut of it"));
      } else {
        Form removed = c.blank();
        add(removed, old->second, k.side);
        add(removed, f, -k.side);
        Resultant r;
        r.name = fmt::format("stock on {} in {}", k.made, k.operation);
        r.is_stock = true;
        r.index = static_cast<int>(j);
        r.lower = k.least_stock;
        r.upper = k.most_stock;
        stocks.emplace_back(r, removed);
      }
    }
    if (!known) {  // one message is enough: what hangs on it begins a piece of its own
      f.resize(c.columns() + ++c.begins, 0.0);
      f.back() = 1;
      c.broken = true;
    }
    c.now[k.made] = f;
  }
}

void place_drawing(Chart& c) {
  for (size_t i = 0; i < c.in.drawing.size(); ++i) {
    const DrawingLimit& d = c.in.drawing[i];
    bool known = true;
    for (const std::string& s : {d.from, d.to})
      if (c.now.count(s) == 0) {
        std::vector<std::string> names;
        for (const auto& [n, form] : c.now) names.push_back(n);
        c.problems.push_back(
            bad(d.name + ": nothing makes this surface", s, base::join(names, ", "), base::nearest(s, names)));
        known = false;
      }
    if (!known) continue;
    Resultant r;
    r.name = d.name;
    r.index = static_cast<int>(i);
    r.lower = d.lower;
    r.upper = d.upper;
    keep(c, r, difference(c.now.at(d.to), c.now.at(d.from)));
  }
}

/// The optimisation, in units of the mean of what the processes hold; means count from `about`.
class Solver {
 public:
  Solver(const Chart& chart) : c(chart), n(chart.cuts), m(chart.resultants.size()) {
    for (const WorkingCut& k : c.in.cuts) unit += k.holds / static_cast<double>(n);
    for (size_t r = 0; r < m; ++r) {
      double base = 0, raw = 0;
      for (size_t i = 0; i < c.raws; ++i) {
        base += c.forms[r][i] * c.in.raw[i].size;
        const double t = std::fabs(c.forms[r][i]) * c.in.raw[i].tolerance / unit;
        raw += c.in.statistical ? t * t : t;
      }
      for (size_t j = 0; j < n; ++j) base += a(r, j) * c.in.cuts[j].about;
      start.push_back(base);
      raw_reach.push_back(c.in.statistical ? std::sqrt(raw) : raw);
    }
    for (const WorkingCut& k : c.in.cuts) holds.push_back(k.holds / unit);
    tangents.resize(m);
  }

  double a(size_t r, size_t j) const { return c.forms[r][c.raws + j]; }
  double reach(size_t r, const std::vector<double>& t) const {
    double sum = c.in.statistical ? raw_reach[r] * raw_reach[r] : raw_reach[r];
    for (size_t j = 0; j < n; ++j) {
      const double x = std::fabs(a(r, j)) * t[j];
      sum += c.in.statistical ? x * x : x;
    }
    return c.in.statistical ? std::sqrt(sum) : sum;
  }
  double low(size_t r) const { return (*c.resultants[r].lower - start[r]) / unit; }
  double high(size_t r) const { return (*c.resultants[r].upper - start[r]) / unit; }
  double width_or(size_t r, double other) const {
    const Resultant& x = c.resultants[r];
    return x.lower && x.upper ? (high(r) - low(r)) / 2 : other;
  }

  /// Raises the least of the ratios t / holds as far as it goes, then the least of those that can still rise, and so
  /// on.
  bool widen(std::vector<double>& t, std::vector<std::vector<size_t>>& held_by, double& common, double& gap,
             bool& infeasible) {
    std::vector<double> level(n, -1);
    held_by.assign(n, {});
    infeasible = false;
    for (size_t round = 0; std::count(level.begin(), level.end(), -1.0) > 0; ++round) {
      if (round > n) return false;
      LinearAnswer x;
      if (!stage(level, x, gap)) {
        infeasible = round == 0 && x.status == LinearAnswer::Status::infeasible;
        return infeasible;
      }
      const double s = x.x[2 * n + m];
      if (round == 0) common = s;
      bool some = false;
      const auto settle = [&](auto binds) {
        for (size_t j = 0; j < n; ++j) {
          if (level[j] >= 0 || !binds(j)) continue;
          level[j] = s;
          some = true;
          for (size_t r = 0; r < m; ++r)
            if (std::fabs(a(r, j)) > 0 && resultant_binds(x, r)) held_by[j].push_back(r);
        }
      };
      settle([&](size_t j) { return std::fabs(x.row_price[ratio_row + j]) > 1e-7; });
      if (!some) settle([&](size_t j) { return x.x[n + j] <= s * holds[j] * (1 + 1e-9); });
      if (!some) return false;
    }
    t.resize(n);
    for (size_t j = 0; j < n; ++j) t[j] = level[j] * holds[j];
    return true;
  }

  /// Means for tolerances t: as far from the limits as they can be, the least reserve first.
  bool centre(const std::vector<double>& t, std::vector<double>& shift) const {
    struct Side {
      size_t r;
      bool upper;
    };
    std::vector<Side> sides;
    for (size_t r = 0; r < m; ++r) {
      if (c.resultants[r].lower) sides.push_back({r, false});
      if (c.resultants[r].upper) sides.push_back({r, true});
    }
    std::vector<double> level(sides.size(), -1);
    shift.assign(n, 0.0);
    if (c.in.means_given) return true;
    for (size_t round = 0; round <= sides.size(); ++round) {
      LinearProgram p;
      p.maximise = true;
      p.cost.assign(n + 1, 0.0);
      p.cost[n] = 1;
      p.lower.assign(n + 1, -LinearProgram::infinity);
      p.upper.assign(n + 1, LinearProgram::infinity);
      p.upper[n] = 1;  // a reserve as large as what comes out is enough
      for (size_t i = 0; i < sides.size(); ++i) {
        const size_t r = sides[i].r;
        const double reached = reach(r, t), scale = width_or(r, std::max(reached, 1.0));
        LinearRow row;
        row.a.assign(n + 1, 0.0);
        for (size_t j = 0; j < n; ++j) row.a[j] = sides[i].upper ? -a(r, j) : a(r, j);
        row.sense = Sense::at_least;
        row.b = sides[i].upper ? reached - high(r) : low(r) + reached;
        if (level[i] > -1) row.b += level[i] * scale;
        else row.a[n] = -scale;
        // What binds may be off by a rounding: give it back, far below any resolution.
        row.b -= 1e-8 * (level[i] > -1 ? 2 : 1);
        p.rows.push_back(row);
      }
      const LinearAnswer x = maths::solve(p);
      if (!x.ok()) return false;
      std::copy(x.x.begin(), x.x.begin() + static_cast<std::ptrdiff_t>(n), shift.begin());
      const double s = x.x[n];
      if (s >= 1 - 1e-9) return true;
      bool some = false, left = false;
      for (size_t i = 0; i < sides.size(); ++i) {
        if (level[i] > -1) continue;
        if (std::fabs(x.row_price[i]) > 1e-7 / (1 + reach(sides[i].r, t))) {
          level[i] = s;
          some = true;
        } else left = true;
      }
      if (!left) return true;
      if (!some) return true;
    }
    return true;
  }

  /// Do the resultants named clash at what the processes hold? Looks for means that leave the most.
  bool clash(const std::vector<int>& which) const {
    LinearProgram p;
    p.maximise = true;
    p.cost.assign(n + 1, 0.0);
    p.cost[n] = 1;
    p.lower.assign(n + 1, c.in.means_given ? 0 : -LinearProgram::infinity);
    p.upper.assign(n + 1, c.in.means_given ? 0 : LinearProgram::infinity);
    p.lower[n] = -LinearProgram::infinity;
    p.upper[n] = 1;
    double size = 1;
    for (const int k : which) {
      const auto r = static_cast<size_t>(k);
      const double reached = reach(r, holds);
      for (const bool upper : {false, true}) {
        if (!(upper ? c.resultants[r].upper : c.resultants[r].lower)) continue;
        LinearRow row;
        row.a.assign(n + 1, 0.0);
        for (size_t j = 0; j < n; ++j) row.a[j] = upper ? -a(r, j) : a(r, j);
        row.a[n] = -1;
        row.sense = Sense::at_least;
        row.b = upper ? reached - high(r) : low(r) + reached;
        size = std::max(size, std::fabs(row.b));
        p.rows.push_back(row);
      }
    }
    const LinearAnswer x = maths::solve(p);
    return x.ok() && x.x[n] < -2e-9 * size;
  }

  const Chart& c;
  size_t n, m;
  double unit = 0;
  std::vector<double> start, raw_reach, holds;

 private:
  size_t ratio_row = 0;
  struct Tangent {
    std::vector<double> slope;
    double constant;
  };
  std::vector<std::vector<Tangent>> tangents;

  /// Columns: shift of the mean of each cut, its tolerance, reach of each resultant, the common factor.
  LinearProgram program(const std::vector<double>& level) {
    LinearProgram p;
    const size_t width = 2 * n + m + 1;
    p.maximise = true;
    p.cost.assign(width, 0.0);
    p.cost.back() = 1;
    p.lower.assign(width, 0.0);
    p.upper.assign(width, LinearProgram::infinity);
    for (size_t j = 0; j < n; ++j) {
      p.lower[j] = c.in.means_given ? 0 : -LinearProgram::infinity;
      if (c.in.means_given) p.upper[j] = 0;
      p.upper[n + j] = c.in.widest * holds[j];
    }
    const auto row = [&](Sense sense, double b) -> LinearRow& {
      p.rows.push_back({std::vector<double>(width, 0.0), sense, b});
      return p.rows.back();
    };
    for (size_t r = 0; r < m; ++r) {
      const auto mean = [&](LinearRow& x) {
        for (size_t j = 0; j < n; ++j) x.a[j] = a(r, j);
      };
      if (c.resultants[r].lower) {
        LinearRow& x = row(Sense::at_least, low(r));
        mean(x);
        x.a[2 * n + r] = -1;
      }
      if (c.resultants[r].upper) {
        LinearRow& x = row(Sense::at_most, high(r));
        mean(x);
        x.a[2 * n + r] = 1;
      }
    }
    ratio_row = p.rows.size();
    for (size_t j = 0; j < n; ++j) {
      LinearRow& x = row(Sense::at_least, level[j] >= 0 ? level[j] * holds[j] * (1 - 1e-11) : 0);
      x.a[n + j] = 1;
      if (level[j] < 0) x.a.back() = -holds[j];
    }
    for (size_t r = 0; r < m; ++r) {
      if (!c.in.statistical) {
        LinearRow& x = row(Sense::equal, raw_reach[r]);
        x.a[2 * n + r] = 1;
        for (size_t j = 0; j < n; ++j) x.a[n + j] = -std::fabs(a(r, j));
        continue;
      }
      // Root sum square from below: it is at least each of its parts, and at least every tangent drawn so far.
      LinearRow& least = row(Sense::at_least, raw_reach[r]);
      least.a[2 * n + r] = 1;
      for (size_t j = 0; j < n; ++j) {
        if (!(std::fabs(a(r, j)) > 0)) continue;
        LinearRow& x = row(Sense::at_least, 0);
        x.a[2 * n + r] = 1;
        x.a[n + j] = -std::fabs(a(r, j));
      }
      for (const Tangent& g : tangents[r]) {
        LinearRow& x = row(Sense::at_least, g.constant);
        x.a[2 * n + r] = 1;
        for (size_t j = 0; j < n; ++j) x.a[n + j] = -g.slope[j];
      }
    }
    return p;
  }
  size_t first_row(size_t r) const {
    size_t at = 0;
    for (size_t i = 0; i < r; ++i) at += (c.resultants[i].lower ? 1 : 0) + (c.resultants[i].upper ? 1 : 0);
    return at;
  }
  bool resultant_binds(const LinearAnswer& x, size_t r) const {
    const size_t at = first_row(r);
    const size_t rows = (c.resultants[r].lower ? 1 : 0) + (c.resultants[r].upper ? 1 : 0);
    for (size_t i = at; i < at + rows; ++i)
      if (std::fabs(x.row_price[i]) > 1e-7) return true;
    return false;
  }

  /// One linear program; with root sum squares as many as it takes until the tangents touch.
  bool stage(const std::vector<double>& level, LinearAnswer& x, double& gap) {
    for (int pass = 0; pass < 400; ++pass) {
      x = maths::solve(program(level));
      if (!x.ok()) return false;
      if (!c.in.statistical) return true;
      double worst = 0;
      const std::vector<double> t(x.x.begin() + static_cast<std::ptrdiff_t>(n),
                                  x.x.begin() + static_cast<std::ptrdiff_t>(2 * n));
      for (size_t r = 0; r < m; ++r) {
        const double true_reach = reach(r, t), off = (true_reach - x.x[2 * n + r]) / std::max(true_reach, 1e-300);
        if (!(off > 1e-10)) continue;
        worst = std::max(worst, off);
        Tangent g{std::vector<double>(n, 0.0), raw_reach[r] * raw_reach[r] / true_reach};
        for (size_t j = 0; j < n; ++j) g.slope[j] = a(r, j) * a(r, j) * t[j] / true_reach;
        tangents[r].push_back(g);
      }
      if (!(worst > 1e-8)) {
        gap = std::max(gap, worst);
        return true;
      }
    }
    return false;
  }
};

/// All subsets of `size` of 0..m-1 in order, until `found` says yes; false when none does.
bool subsets(int m, int size, const std::function<bool(const std::vector<int>&)>& found) {
  std::vector<int> pick(static_cast<size_t>(size));
  std::iota(pick.begin(), pick.end(), 0);
  while (true) {
    if (found(pick)) return true;
    int i = size - 1;
    while (i >= 0 && pick[static_cast<size_t>(i)] == m - size + i) --i;
    if (i < 0) return false;
    ++pick[static_cast<size_t>(i)];
    for (int k = i + 1; k < size; ++k) pick[static_cast<size_t>(k)] = pick[static_cast<size_t>(k - 1)] + 1;
  }
}

void find_clash(const Solver& s, WorkingResult& out) {
  const int m = static_cast<int>(s.m);
  std::vector<int> set(s.m);
  std::iota(set.begin(), set.end(), 0);
  if (!s.clash(set)) return;
  for (int k = 0; k < m; ++k) {  // leave out whatever is not needed for the clash
    std::vector<int> without;
    for (const int x : set)
      if (x != k) without.push_back(x);
    if (without.size() < set.size() && s.clash(without)) set = without;
  }
  const int found = static_cast<int>(set.size());
  out.clash = set;
  out.clash_is_smallest = found == 1;
  double tried = 0;
  for (int size = 1; size < found; ++size) {
    double count = 1;
    for (int i = 0; i < size; ++i) count = count * (m - i) / (i + 1);
    tried += count;
    if (tried > 3000) break;
    const bool smaller = subsets(m, size, [&](const std::vector<int>& which) {
      if (!s.clash(which)) return false;
      out.clash = which;
      return true;
    });
    out.clash_is_smallest = smaller || size == found - 1;
    if (smaller) break;
  }
  std::vector<std::string> names;
  for (const int r : out.clash) names.push_back(out.resultants[static_cast<size_t>(r)].name);
  out.clash_sentence = names.size() == 1 ? fmt::format("{} cannot hold with what its chain's processes hold", names[0])
                                         : fmt::format("these cannot all hold: {}", base::join(names, "; "));
}

}  // namespace

Outcome<WorkingResult> working_dimensions(const WorkingInputs& in) {
  Chart c(in);
  check_numbers(c);
  if (!c.problems.empty()) return c.problems;
  std::vector<std::pair<Resultant, Form>> stocks;
  place_raw(c);
  place_cuts(c, stocks);
  place_drawing(c);
  for (auto& [r, f] : stocks) keep(c, r, f);
  if (!c.problems.empty()) return c.problems;

  Solver s(c);
  WorkingResult out;
  out.resultants = c.resultants;
  std::vector<double> t, shift;
  std::vector<std::vector<size_t>> held_by;
  bool none = false;
  if (!s.widen(t, held_by, out.factor, out.gap, none)) return ours("the search for working tolerances did not end");
  out.any = !none;
  if (none) out.factor = 0;
  out.exist = out.any && out.factor >= 1 - 1e-8;
  if (!out.exist) find_clash(s, out);
  if (!out.any) return out;
  if (!s.centre(t, shift)) return ours("no means were found for tolerances that fit");

  for (size_t j = 0; j < in.cuts.size(); ++j) {
    const WorkingCut& k = in.cuts[j];
    WorkingDimension d;
    d.operation = k.operation;
    d.from = base::join(k.from, " and ");
    d.made = k.made;
    d.name = named(k);
    d.mean = k.about + shift[j] * s.unit;
    d.tolerance = t[j] * s.unit;
    d.factor = d.tolerance / k.holds;
    d.free = d.factor >= in.widest * (1 - 1e-9);
    if (!d.free)
      for (const size_t r : held_by[j]) d.held_by.push_back(out.resultants[r].name);
    out.dimensions.push_back(std::move(d));
  }
  for (size_t r = 0; r < out.resultants.size(); ++r) {
    Resultant& x = out.resultants[r];
    x.mean = 0;
    for (const ChainTerm& k : x.chain) {
      const auto i = static_cast<size_t>(k.index);
      x.mean += k.sign * (k.is_raw ? in.raw[i].size : out.dimensions[i].mean);
    }
    x.reach = s.reach(r, t) * s.unit;
    x.reserve = LinearProgram::infinity;
    if (x.lower) x.reserve = std::min(x.reserve, x.mean - x.reach - *x.lower);
    if (x.upper) x.reserve = std::min(x.reserve, *x.upper - x.mean - x.reach);
    // The answer is checked from the chains themselves.
    if (!(x.reserve >= -1e-6 * s.unit)) return ours(x.name + " failed the check of the working dimensions");
  }
  return out;
}

}  // namespace fettle::tolerance
