#include "study/push_off.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <optional>

#include "study/cut_model.h"
#include "study/of_one_study.h"
#include "study/plate_model.h"

namespace fettle::study {

using frame::Vec3;
using Way = CutModel::Way;

namespace {

/// How one cut makes one surface: along which direction of the cut's own axes metal is left.
enum class Made { wall, floor, round };

struct Work {
  Context& c;
  std::vector<CutModel> cuts;
  std::map<std::string, Push> kept;
};

bool names(const CutModel& m, const std::string& feature) {
  const auto& all = m.cut->features.value;
  return std::any_of(all.begin(), all.end(),
                     [&](const std::string& r) { return plan::parse_reference(r).id == feature; });
}

/// The cut that leaves the surface; and the one before it in the same clamping.
struct Last {
  const CutModel *cut = nullptr, *before = nullptr;
};
Last last_cut(const Work& w, const plan::Operation& o, const std::string& feature) {
  Last out;
  for (const CutModel& m : w.cuts)
    if (m.operation == &o && m.way != Way::chamfer && m.cut->kind.value != "chamfer" && names(m, feature)) {
      out.before = out.cut;
      out.cut = &m;
    }
  return out;
}

/// Four corners of what is compared: iron soft and hard at middling stock, stock least and most in middling iron.
struct Corners {
  CutKnobs soft, hard, least, most, middle;
};
Corners corners_of(Context& c, const Last& last) {
  const CutModel& cut = *last.cut;
  Corners k;
  k.middle = k.soft = k.hard = k.least = k.most = cut.stated;
  k.soft.hardness = cut.soft.hardness, k.soft.wear_factor = cut.soft.wear_factor;
  k.hard.hardness = cut.hard.hardness, k.hard.wear_factor = cut.hard.wear_factor;
  k.least.width = cut.soft.width, k.least.depth = cut.soft.depth;
  k.most.width = cut.hard.width, k.most.depth = cut.hard.depth;
  // What the cut before left, this one finds as stock: the error is copied, smaller.
  if (last.before != nullptr && cut.width_at < 0 && !along_axis(last.before->way))
    if (const auto left = tool_push_off(c, *last.before)) {
      k.least.width += std::max(0.0, left->least);
      k.most.width += std::max(0.0, left->most);
    }
  return k;
}

Vec3 up_of(const plan::Operation& o) { return direction(o.up.known() ? o.up.value : "+z"); }

/// A place with the direction in which metal left is counted.
struct Spot {
  Vec3 at, feed, out, up, normal;  ///< part frame
};
std::vector<Spot> spots_of(const plan::Operation& o, const CutModel& cut, const Surface& s, Made made) {
  const Vec3 up = up_of(o);
  std::vector<Spot> out;
  if (made == Made::floor) {
    // Where the cut goes along the wall beside it, or over the face itself, down at the floor.
    const double reach = 0.6 * std::hypot(s.extent_u, s.extent_v);
    for (const CutPlace& p : cut.places) {
      const Vec3 off = p.at - s.point, flat = off - frame::dot(off, s.normal) * s.normal;
      if (frame::norm(flat) <= reach)
        out.push_back({s.point + flat + (0.5 * cut.stated.depth) * up, p.feed, p.out, up, s.normal});
    }
    if (!out.empty()) return out;
    const Vec3 u = axis_across(s.normal), v = frame::cross(s.normal, u);
    for (const double a : {0.0, -0.4, 0.4})
      for (const double b : {0.0, -0.4, 0.4})
        if ((a == 0) == (b == 0))
          out.push_back({s.point + (a * s.extent_u) * u + (b * s.extent_v) * v, u, frame::cross(up, u), up, s.normal});
    return out;
  }
  for (const CutPlace& p : cut.places)
    if (made == Made::round || frame::dot(p.out, s.normal) > 0.9) out.push_back({p.at, p.feed, p.out, up, p.out});
  return out;
}

/// The cut whose places stand for a surface: a bored wall is asked where the tool before the bar went round.
const CutModel& asked_at(const Last& last) {
  const bool round_before = last.cut->way == Way::bore && last.before != nullptr && !along_axis(last.before->way) &&
                            last.before->missing.empty() && !last.before->places.empty();
  return round_before ? *last.before : *last.cut;
}

std::optional<Made> how(const plan::Operation& o, const CutModel& cut, const Surface& s) {
  if (cut.way == Way::drill || cut.way == Way::ream || cut.way == Way::tap || cut.way == Way::thread_mill) return {};
  if (s.round) return Made::round;
  return std::fabs(frame::dot(s.normal, up_of(o))) > 0.9 ? Made::floor : Made::wall;
}

/// The places of a cut at which its walls are asked: no corners of a profile, and of three in a line the outer two,
/// since between them the part moves as a whole.
std::vector<Vec3> ends_of(const CutModel& cut) {
  std::vector<Vec3> out;
  for (const CutPlace& p : cut.places) {
    const double most = std::max({std::fabs(p.out.x), std::fabs(p.out.y), std::fabs(p.out.z)});
    bool between = most < 0.99;
    for (const CutPlace& a : cut.places)
      for (const CutPlace& b : cut.places)
        between = between || (&a != &b && frame::norm(a.at - b.at) > 1e-6 && frame::dot(a.out, p.out) > 0.999 &&
                              frame::dot(b.out, p.out) > 0.999 && frame::norm(a.at + b.at - 2 * p.at) < 1e-9);
    if (!between) out.push_back(p.at);
  }
  return out;
}

/// Motion of the part's place along `normal` per newton of each of feed, out, up: one row per spot and nest.
struct Rows {
  std::vector<Vec3> give;  ///< m/N
  std::vector<int> nest;
};
Outcome<Rows> pallet_gives(Context& c, const CutModel& cut, const std::vector<Spot>& spots, Made made) {
  std::vector<Vec3> ask;
  if (made == Made::floor)
    for (const Spot& s : spots) ask.push_back(s.at);
  else ask = ends_of(cut);
  std::vector<PlatePoint> points;
  for (int n = 0; n < nest_count(c.plan); ++n)
    for (const Vec3& at : ask) points.push_back({n, on_pallet(c.plan, n, at)});
  const auto answer = plate_gives(c, stated_knobs(c), points, {});
  if (!answer.ok()) return answer.problem();
  Rows rows;
  for (std::size_t i = 0; i < points.size(); ++i)
    for (const Spot& s : spots) {
      const int nest = points[i].nest;
      if (!(frame::norm(on_pallet(c.plan, nest, s.at) - points[i].at) < 1e-9)) continue;
      const auto& k = (*answer)[i];
      const auto turned = [&](Vec3 v) { return turned_on_pallet(c.plan, nest, v); };
      const Vec3 n = turned(s.normal);
      const Vec3 row = {n.x * k[0] + n.y * k[3] + n.z * k[6], n.x * k[1] + n.y * k[4] + n.z * k[7],
                        n.x * k[2] + n.y * k[5] + n.z * k[8]};
      rows.give.push_back(
          {frame::dot(row, turned(s.feed)), frame::dot(row, turned(s.out)), frame::dot(row, turned(s.up))});
      rows.nest.push_back(nest);
      break;
    }
  return rows;
}

/// What the knobs do, whatever the place: what the tool leaves by height, and the force on the part.
struct State {
  std::vector<double> tool;
  Vec3 force;
  double radial = 0;
};
State state_at(Context& c, const CutModel& cut, Made made, const CutKnobs& k) {
  State s;
  if (made != Made::floor) s.tool = tool_errors(c, cut, k);
  s.force = cut_forces(c, cut, k).mean;
  s.radial = radial_force(c, cut, k);
  return s;
}
/// Metal that the pallet leaves; a boring tool goes round, so any way across stands for all.
double pallet(const CutModel& cut, const State& s, const Vec3* row) {
  if (row == nullptr) return 0;
  if (cut.way == Way::bore) return s.radial * std::fabs(row->y);
  return -frame::dot(*row, s.force);
}
/// Half of what changes between two states, at the height where it is most.
double half(const CutModel& cut, const State& a, const State& b, const Vec3* row) {
  const double plate = pallet(cut, b, row) - pallet(cut, a, row);
  double most = a.tool.empty() || a.tool.size() != b.tool.size() ? std::fabs(plate) : 0;
  for (std::size_t i = 0; i < a.tool.size() && i < b.tool.size(); ++i)
    most = std::max(most, std::fabs(b.tool[i] - a.tool[i] + plate));
  return 0.5 * most;
}
double left_at(const CutModel& cut, const State& s, const Vec3* row) {
  double mean = 0;
  for (double e : s.tool) mean += e / static_cast<double>(s.tool.size());
  return mean + pallet(cut, s, row);
}

Push work_out(Work& w, const plan::Operation& o, const std::string& surface) {
  Push p;
  Context& c = w.c;
  const Surface s = surface_of(c.plan, surface);
  const Last last = last_cut(w, o, plan::parse_reference(surface).id);
  if (last.cut == nullptr || !s.there) {
    p.missing.push_back(fmt::format("operation.cut: the cut of {} that leaves {}", o.id.value, surface));
    return p;
  }
  const CutModel& cut = *last.cut;
  p.tool = cut.cut->tool.value;
  const auto made = how(o, cut, s);
  if (!made) return p;
  if (!cut.missing.empty()) {
    p.missing = cut.missing;
    return p;
  }
  const Corners k = corners_of(c, last);
  // Along its axis a tool is far stiffer than a pallet; nothing is taken from it there.
  if (*made != Made::floor && tool_errors(c, cut, k.middle).empty())
    p.missing.push_back(fmt::format("operation.cut.stick_out (or tool.stick_out) and tool.material of {}", p.tool));
  Rows rows;
  if (o.kind.value == "pallet") {
    const auto lack = plate_missing(c);
    p.missing.insert(p.missing.end(), lack.begin(), lack.end());
    const auto spots = spots_of(o, asked_at(last), s, *made);
    if (spots.empty()) p.missing.push_back(fmt::format("feature {}: where it lies on the part", surface));
    if (lack.empty() && !spots.empty()) {
      const auto r = pallet_gives(c, asked_at(last), spots, *made);
      if (r.ok()) rows = *r;
      else p.missing.push_back("pallet.plate: " + r.problem().what);
    }
  } else if (*made == Made::floor) {
    p.missing.push_back("how far the clamping gives way along the spindle (cut a face twice at the same setting)");
  }
  const auto state = [&](const CutKnobs& knobs) { return state_at(c, cut, *made, knobs); };
  const State soft = state(k.soft), hard = state(k.hard), least = state(k.least), most = state(k.most),
              middle = state(k.middle);
  const double on_size = *made == Made::round ? 2 : 1;
  if (rows.give.empty()) {
    p.iron = on_size * half(cut, soft, hard, nullptr);
    p.stock = on_size * half(cut, least, most, nullptr);
    p.constant = on_size * left_at(cut, middle, nullptr);
    return p;
  }
  const auto nests = static_cast<std::size_t>(nest_count(c.plan));
  std::vector<double> iron(nests, 0), stock(nests, 0), constant(nests, 0), count(nests, 0);
  for (std::size_t i = 0; i < rows.give.size(); ++i) {
    const auto n = static_cast<std::size_t>(rows.nest[i]);
    iron[n] = std::max(iron[n], on_size * half(cut, soft, hard, &rows.give[i]));
    stock[n] = std::max(stock[n], on_size * half(cut, least, most, &rows.give[i]));
    constant[n] += on_size * left_at(cut, middle, &rows.give[i]);
    count[n] += 1;
  }
  p.iron = *std::max_element(iron.begin(), iron.end());
  p.stock = *std::max_element(stock.begin(), stock.end());
  for (std::size_t n = 0; n < nests; ++n) {
    constant[n] /= std::max(1.0, count[n]);
    p.constant += constant[n] / static_cast<double>(nests);
    const double a = p.iron > 0 ? iron[n] / p.iron : 0, b = p.stock > 0 ? stock[n] / p.stock : 0;
    p.by_nest.push_back(std::max(a, b));
  }
  for (std::size_t n = 0; n < nests; ++n) p.beside.push_back(constant[n] - p.constant);
  return p;
}

}  // namespace

ref::Banded push_off_band() {
  return {1, 0.6, 2, "from memory: printed forces within a quarter, stiffness within a factor of two",
          "cut a face twice at the same setting, on hard and on soft iron"};
}

namespace {
PushOf new_push_offs(Context& c) {
  const auto work = std::make_shared<Work>(Work{c, cut_models(c), {}});
  return [work](const plan::Operation& o, const std::string& surface) {
    const std::string key = o.id.value + "\n" + surface;
    const auto it = work->kept.find(key);
    if (it != work->kept.end()) return it->second;
    return work->kept[key] = work_out(*work, o, surface);
  };
}
}  // namespace

PushOf push_offs(Context& c) {
  if (c.of_one_study == nullptr) return new_push_offs(c);
  return [&c](const plan::Operation& o, const std::string& surface) {
    return c.of_one_study->push(new_push_offs, o, surface);
  };
}

}  // namespace fettle::study
