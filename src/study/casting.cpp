// Does every casting clean up, as the route holds it?
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <tuple>

#include "base/text.h"
#include "calc/casting/best_pose.h"
#include "calc/casting/virtual_castings.h"
#include "maths/statistics.h"
#include "study/casting_model.h"
#include "study/measured.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;

std::string spot_words(const Context& c, const casting::FaceStock& f) {
  std::string words = words_of(c.plan, f.face);
  const Surface s = surface_of(c.plan, f.face);
  if (!s.there || !s.round) return words;
  const Vec3 d = f.least_at - s.point;
  std::string side;
  for (const auto& [axis, x, along] :
       {std::tuple{'X', d.x, s.normal.x}, {'Y', d.y, s.normal.y}, {'Z', d.z, s.normal.z}})
    if (along == 0 && std::fabs(x) > 0.38 * s.radius)  // sine of 22.5 degrees: eight sides
      side += fmt::format("{}{}{}", side.empty() ? "" : " ", x > 0 ? '+' : '-', axis);
  return side.empty() ? words : words + " at " + side;
}

std::string clash_words(const Context& c, const casting::BestShift& best) {
  std::vector<casting::Clash> clash = best.clash;
  for (casting::Clash& x : clash) x.face = "the " + words_of(c.plan, x.face);
  return casting::say_clash(clash, best.stops);
}

std::string left_words(const Context& c, double stock, double asked, const std::string& where) {
  if (stock < 0) return fmt::format("{} of metal is missing on the {}", mm(c, -stock), where);
  if (stock < asked)
    return fmt::format("only {} is left on the {}, {} is asked under the skin", mm(c, stock), where, mm(c, asked));
  return fmt::format("{} is left on the {}", mm(c, stock), where);
}

namespace {

constexpr const char* stock_source =
    "small-displacement contact Jacobian, Asada & By 1985; errors by grade ISO 8062-3, DCT/6 as one standard deviation "
    "(common practice)";
constexpr const char* sample_source = "one-sided tolerance factor by the non-central t distribution (exact)";
constexpr const char* pose_source = "largest least stock by linear programming over the pose, re-linearised";

/// Inputs of the pure call that draws the castings.
struct DrawInputs {
  casting::Casting casting;
  casting::Route route;
  casting::VirtualInputs how;
};
struct Drawn {
  bool ok = false;
  std::string why;
  casting::VirtualResult result;
};
/// What is drawn again and again while bands move: the numbers stay, only what they scale changes.
struct Draws {
  std::optional<casting::Noise> noise;
  int drawn = 0;
};
Drawn draw(const DrawInputs& in, Draws& draws, base::Halt& halt) {
  Drawn d;
  const Outcome<casting::Model> model = casting::build(in.casting, in.route);
  if (!model.ok()) {
    d.why = say(model.problem());
    return d;
  }
  // Kept from the second draw on: one alone would only pay for it.
  if (!in.how.with_shift && ++draws.drawn > 1 && (!draws.noise || !draws.noise->of(*model, in.how)))
    draws.noise = casting::draw_noise(*model, in.how, &halt);
  const Outcome<casting::VirtualResult> r =
      casting::virtual_castings(*model, in.how, draws.noise ? &*draws.noise : nullptr, &halt);
  if (halt.over()) throw Stopped();
  if (!r.ok()) {
    d.why = say(r.problem());
    return d;
  }
  d.ok = true;
  d.result = r.value();
  return d;
}

struct BuildInputs {
  casting::Casting casting;
  casting::Route route;
};
Outcome<casting::Model> build_model(const BuildInputs& in) { return casting::build(in.casting, in.route); }

std::string operation_of(const plan::Plan& plan, const CastingModel& m, const CutFace& f) {
  int made = -1;
  for (const plan::Operation& o : plan.operations) {
    if (!o.makes.value.empty()) ++made;
    if (made == f.operation && !o.makes.value.empty()) return o.id.value;
  }
  return m.route.operations[static_cast<std::size_t>(f.operation)].id;
}

/// The bands of what is assumed about castings, in a fixed order, and how a vector of values becomes the numbers.
struct Bands {
  int skin = -1, scale = -1, mismatch = -1, warp = -1, texture = -1, draft = -1;
  std::vector<int> core_x, core_y, core_z;
  CastingNumbers numbers(const plan::Plan& plan, const std::vector<double>& v) const {
    CastingNumbers n = numbers_of(plan);
    n.skin = at(v, skin, n.skin);
    n.scale = at(v, scale, n.scale);
    n.mismatch = at(v, mismatch, n.mismatch);
    n.warp = at(v, warp, n.warp);
    n.texture = at(v, texture, n.texture);
    n.draft = at(v, draft, n.draft);
    for (std::size_t k = 0; k < n.core_x.size(); ++k) {
      n.core_x[k] = at(v, core_x[k], n.core_x[k]);
      n.core_y[k] = at(v, core_y[k], n.core_y[k]);
      n.core_z[k] = at(v, core_z[k], n.core_z[k]);
    }
    return n;
  }
};
Bands bands_of(Finding& f, const plan::Plan& plan, const CastingModel& m, const Sample& sample) {
  Bands b;
  const plan::Casting& c = plan.casting;
  b.skin = assume(f, c.skin, "depth of the first cut under the skin", "casting.skin");
  b.draft = assume(f, c.draft, "draft of the walls", "casting.draft");
  if (!learned_a_size(sample)) b.scale = assume(f, c.scale, "shrinkage error", "casting.scale");
  b.mismatch = assume(f, c.mismatch, "mould mismatch", "casting.mismatch");
  if (!learned(sample, "warp x")) b.warp = assume(f, c.warp, "warp", "casting.warp");
  b.texture = assume(f, c.texture, "roughness of the skin", "casting.texture");
  for (std::size_t i = 0; i < c.cores.size(); ++i) {
    const plan::Core& k = c.cores[i];
    const auto one = [&](const plan::Number& n, const char* words, const char* key, const char* axis) {
      const std::string mode = fmt::format("core {} {}", i, axis);  // none where a size says the core's height
      return learned(sample, mode) || m.mode.count(mode) == 0
                 ? -1
                 : assume(f, n, k.id.value + words, "casting.core." + k.id.value + key);
    };
    b.core_x.push_back(one(k.shift_x, " shift X", ".shift_x", "x"));
    b.core_y.push_back(one(k.shift_y, " shift Y", ".shift_y", "y"));
    b.core_z.push_back(one(k.shift_z, " height", ".shift_z", "z"));
  }
  return b;
}

/// `shifted` > 0: that many castings, and for each that fails also whether the program's shift saves it.
std::shared_ptr<const Drawn> drawn_at(Context& c, const Sample& sample, Draws& draws, const CastingNumbers& n,
                                      int shifted = 0) {
  CastingModel m = casting_model(c.plan, n, c.data.models.get());
  learn(m, sample);
  DrawInputs in{m.casting, m.route, {}};
  in.how.castings = shifted > 0 ? shifted : c.plan.header.castings.value;
  in.how.with_shift = shifted > 0;
  in.how.seed = static_cast<std::uint64_t>(c.plan.header.seed.value);
  in.how.threads = 1;  // the number of threads must not be part of what names a result
  const int threads = c.options.threads;
  return c.memo.call(
      "virtual castings",
      [&c, &draws, threads](const DrawInputs& x) {
        if (c.options.progress) {
          const double share = std::min(1.0, c.draws / static_cast<double>(std::max(1, c.draws_expected)));
          c.options.progress(fmt::format("castings, draw {}", ++c.draws), draws_share * share);
        }
        DrawInputs y = x;
        y.how.threads = threads;
        base::Halt halt(c.options.stop);
        return draw(y, draws, halt);
      },
      in);
}

/// What measuring every casting and shifting its program would leave.
void with_shift(Context& c, Finding& f, const Sample& sample, Draws& draws, const CastingNumbers& n,
                const casting::Share& plain) {
  const auto may = [](const plan::Operation& o) { return !o.shift.value.empty(); };
  if (plain.hits == 0 || std::none_of(c.plan.operations.begin(), c.plan.operations.end(), may)) return;
  // A linear program for every casting that fails: two thousand castings tell enough and keep it short.
  const auto drawn = drawn_at(c, sample, draws, n, std::min(c.plan.header.castings.value, 2000));
  if (!drawn->ok || drawn->result.any_fails_with_shift.of == 0) return;
  const casting::Share& s = drawn->result.any_fails_with_shift;
  const std::string words = share_words(s.share, s.hits, s.high);
  f.inputs.push_back({"fail when every casting is measured and shifted", s.share, unit::Kind::fraction,
                      fmt::format("{} ({} to {} with 95 % confidence, {} virtual castings)", words, share_words(s.low),
                                  share_words(s.high), s.of)});
  f.levers.push_back(
      {"program shift", "operation.shift", plain.share, s.share, unit::Kind::fraction,
       fmt::format("measuring every casting and shifting its program: {} → {} fail", share_words(plain.share), words)});
}

/// A casting of which a face could not be judged may fail there: it is never called good.
void not_all_judged(Finding& f, const CastingModel& m) {
  f.state = finding::State::open;
  f.value = f.margin = std::numeric_limits<double>::quiet_NaN();
  f.low.reset();
  f.high.reset();
  f.text.clear();
  f.levers.clear();
  for (const auto& [face, what] : m.open_faces) f.missing.push_back(what);
  f.sentence = fmt::format("{}: not all faces can be judged. Give {}.", f.title, base::join(f.missing, "; "));
}

/// Share of castings that fail on one face, or on any (face < 0).
void clean_up_share(Context& c, const CastingModel& m, const Sample& sample, Draws& draws, int face) {
  const bool any = face < 0;
  const CutFace* cut = any ? nullptr : &m.faces[static_cast<std::size_t>(face)];
  const std::string words = any ? "" : words_of(c.plan, cut->id);
  const std::string operation = any ? "casting" : operation_of(c.plan, m, *cut);
  Finding f = start(operation, any ? "all" : cut->id, "clean_up",
                    any ? "castings clean up everywhere" : fmt::format("{} cleans up", words), unit::Kind::fraction);
  f.limit = finding::share(c.plan.header.goal.si);
  f.source = stock_source;
  f.formula =
      any || cut->skin
          ? "share of virtual castings whose least stock is under the skin depth, as the route's rests hold them"
          : "share of virtual castings where the earlier cut leaves nothing for this one";
  if (!c.options.monte_carlo) {
    leave_open(c, std::move(f), {"virtual castings (they were left out of this run)"});
    return;
  }
  const Bands bands = bands_of(f, c.plan, m, sample);
  c.draws_expected = 2 * static_cast<int>(f.assumptions.size()) + 3;  // both ends of each, as stated, worst, shifted
  const auto share_at = [&](const std::vector<double>& v) -> const casting::Share* {
    const auto d = drawn_at(c, sample, draws, bands.numbers(c.plan, v));
    if (!d->ok) return nullptr;
    return any ? &d->result.any_fails : &d->result.faces[static_cast<std::size_t>(face)].fails;
  };
  std::vector<double> stated;
  for (const auto& a : f.assumptions) stated.push_back(a.value);
  const auto drawn = drawn_at(c, sample, draws, bands.numbers(c.plan, stated));
  if (!drawn->ok) {
    leave_open(c, std::move(f), {drawn->why});
    return;
  }
  const casting::Share* s = share_at(stated);
  f.low = s->low;
  f.high = s->high;
  f.confidence = fmt::format("95 % of the counting alone, {} virtual castings", s->of);
  if (s->hits == 0) f.text = share_words(s->share, s->hits, s->high);
  f.inputs.push_back({"castings tried", static_cast<double>(s->of), unit::Kind::number, {}});
  f.inputs.push_back({"that fail", static_cast<double>(s->hits), unit::Kind::number, {}});
  if (!any) {
    const casting::FaceClean& fc = drawn->result.faces[static_cast<std::size_t>(face)];
    if (c.data.models != nullptr)
      f.inputs.push_back(
          {"looked at", 0, unit::Kind::number,
           cut->from_models ? "faces of both models" : "plain feature (the models give no points there)"});
    f.inputs.push_back({"depth asked for", cut->skin ? c.plan.casting.skin.si : 0, unit::Kind::length, {}});
    f.inputs.push_back({"least stock in the middle casting", fc.least[3], unit::Kind::length, {}});
    f.inputs.push_back({"least stock in the worst of a thousand", fc.least[0], unit::Kind::length, {}});
    f.inputs.push_back({"most stock in the worst of a thousand", fc.most[6], unit::Kind::length, {}});
    f.inputs.push_back({"worst casting", 0, unit::Kind::number,
                        fmt::format("number {}, {} left at {}, {}, {}", fc.worst_casting, mm(c, fc.least_of_all),
                                    mm(c, fc.worst_at.x), mm(c, fc.worst_at.y), mm(c, fc.worst_at.z))});
    // What an extra of stock would do: shifting the whole distribution of least stock until the goal is met.
    const std::string asked =
        cut->skin ? fmt::format(", {} is asked", mm(c, c.plan.casting.skin.si)) : std::string(", any is enough");
    f.sentence = s->hits == 0
                     ? fmt::format(
                           "None of {} virtual castings fails on the {}: {} of all, with 95 % confidence; the "
                           "worst of a thousand has {} there{}.",
                           s->of, words, share_words(s->share, s->hits, s->high), mm(c, fc.least[0]), asked)
                     : fmt::format("{} of castings do not clean up on the {}; the worst of a thousand has {} there{}.",
                                   share_words(s->share), words, mm(c, fc.least[0]), asked);
    if (s->share > c.plan.header.goal.si && cut->skin) {
      const double lacking = c.plan.casting.skin.si - fc.least[0];
      if (lacking > 0)
        f.levers.push_back(
            {"stock", "casting.size", 0, lacking, unit::Kind::length,
             fmt::format("about {} more stock on the {} brings it to one in a thousand", mm(c, lacking), words)});
    }
  } else {
    f.sentence = fmt::format("{} of castings fail on at least one face as the route holds them.",
                             share_words(s->share, s->hits, s->high));
    with_shift(c, f, sample, draws, bands.numbers(c.plan, stated), *s);
  }
  f.inputs.push_back({"spread of castings", 0, unit::Kind::number,
                      sample.rows.size() < 5
                          ? "by grade"
                          : fmt::format("learned from {} measured castings; what so few leave open is in the "
                                        "findings of the sample",
                                        sample.rows.size())});
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    const casting::Share* x = share_at(v);
    return x == nullptr ? std::numeric_limits<double>::quiet_NaN() : x->share;
  });
  // Too few tries prove nothing: inside only when the upper bound is.
  Finding& settled = c.study.findings.back();
  if (any && !m.open_faces.empty() && settled.state != finding::State::outside) not_all_judged(settled, m);
  if (settled.state == finding::State::inside && !(*settled.high <= settled.limit.high)) {
    settled.state = finding::State::tight;
    settled.worst = "number of virtual castings";
    settled.levers.push_back({"virtual castings", "plan.castings", static_cast<double>(c.plan.header.castings.value),
                              std::nan(""), unit::Kind::number,
                              fmt::format("{} virtual castings are too few to prove it; raise plan.castings",
                                          c.plan.header.castings.value)});
  }
}

/// "X +1.2 mm, Y -0.1 mm", and Z where the program may shift it.
std::string shift_words(const Context& c, const CastingRow& r) {
  const auto one = [&](const char* axis, double x) {
    return fmt::format("{} {}{}", axis, x >= 0 ? "+" : "", mm(c, x));
  };
  const std::string flat = one("X", r.shift_x) + ", " + one("Y", r.shift_y);
  return std::fabs(r.shift_z) < 5e-7 ? flat : flat + ", " + one("Z", r.shift_z);
}

/// "OP20", or all operations in which a casting may be shifted.
std::string shifting_operations(const Context& c) {
  std::vector<std::string> ids;
  for (const plan::Operation& o : c.plan.operations)
    if (!o.shift.value.empty()) ids.push_back(o.id.value);
  return base::join(ids, " and ");
}

/// Errors that no column of the table tells, as one band on the stock where it is tightest: two standard deviations of
/// them together, and the tape's own reading to a tenth of a millimetre.
plan::Number not_measured(const CastingModel& m, const casting::Model& model, const Sample& sample,
                          const std::vector<casting::FaceStock>& faces, int tight) {
  if (tight < 0) {
    for (std::size_t i = 0; i < faces.size(); ++i)
      if (m.faces[i].skin && (tight < 0 || faces[i].reserve < faces[static_cast<std::size_t>(tight)].reserve))
        tight = static_cast<int>(i);
  }
  plan::Number n;
  if (tight < 0) return n;
  const auto point = static_cast<std::size_t>(model.first_point[static_cast<std::size_t>(tight)]) +
                     static_cast<std::size_t>(faces[static_cast<std::size_t>(tight)].least_point);
  double sum = 0.05e-3 * 0.05e-3;  // a tape read to 0.1 mm, as a standard deviation
  const std::size_t count = model.parameters.size();
  for (std::size_t k = 0; k < count; ++k) {
    const bool measured = std::any_of(sample.keys.begin(), sample.keys.end(),
                                      [&](const std::string& key) { return m.mode.at(key) == static_cast<int>(k); });
    if (measured) continue;
    const double effect = model.by_parameter[point * count + k] * model.parameters[k].s;
    if (std::isfinite(effect)) sum += effect * effect;
  }
  n.origin = plan::Origin::assumed;
  n.kind = unit::Kind::length;
  n.high = 2 * std::sqrt(sum);
  n.low = -n.high;
  n.source = "two standard deviations of the errors that no column tells, and a tape read to 0.1 mm (common practice)";
  n.replaced_by = "measure mismatch and twist too, or scan the casting";
  return n;
}

/// What would save castings although the plan does not allow it: by number, "X +0.4 mm, ... at operation OP10".
using NotAllowed = std::map<std::string, std::string>;

/// The first operation when it sits on raw surfaces alone and its `shift` is not said: moving its cuts harms nothing
/// that is cut already, so what it would do is worth saying before a casting is set aside. -1: there is none.
int unsaid_shift(const plan::Plan& plan, const CastingModel& m) {
  if (m.route.operations.empty()) return -1;
  const casting::Operation& first = m.route.operations.front();
  for (const plan::Operation& o : plan.operations)
    if (o.id.value == first.id && !o.shift.value.empty()) return -1;
  for (const casting::Contact& contact : first.contacts)
    for (const casting::Touch& t : contact.touches)
      if (std::any_of(m.faces.begin(), m.faces.end(), [&](const CutFace& f) { return f.id == t.surface; })) return -1;
  return 0;
}

/// The shift within 10 mm that would save this casting, were it allowed, in words; empty: none.
std::string would_save(const Context& c, const CastingModel& m, const casting::Model& model,
                       const std::vector<double>& stock) {
  const int first = unsaid_shift(c.plan, m);
  if (first < 0) return {};
  std::vector<double> low, high;
  for (const auto& l : model.shift_low) low.insert(low.end(), l.begin(), l.end());
  for (const auto& h : model.shift_high) high.insert(high.end(), h.begin(), h.end());
  const std::size_t at = 6 * static_cast<std::size_t>(first);
  for (std::size_t i = 0; i < 3; ++i) {
    low[at + i] = -0.010;
    high[at + i] = 0.010;
  }
  const casting::BestShift best = casting::best_shift(model, stock, low, high);
  if (best.status != casting::PoseStatus::found || !(best.least >= 0)) return {};
  CastingRow r;
  r.shift_x = best.shifts[at];
  r.shift_y = best.shifts[at + 1];
  r.shift_z = best.shifts[at + 2];
  return fmt::format("{} at operation {}", shift_words(c, r), m.route.operations.front().id);
}

/// A casting's stock, and which model it is of.
struct ShiftInputs {
  std::string model;
  std::vector<double> stock;
};

/// One measured casting: what is left as the route holds it, the shift that helps, or the proof that none does.
NotAllowed measured_castings(Context& c, const CastingModel& m, const casting::Model& model, const Sample& sample) {
  NotAllowed not_allowed;
  const std::string key = base::hash_hex(base::bytes_of(BuildInputs{m.casting, m.route}));
  for (const SampleRow& row : sample.rows) {
    const std::vector<double> stock = worse_bow(m, model, sample, row);
    const std::vector<casting::FaceStock> faces = casting::by_face(model, stock);
    CastingRow out;
    out.number = row.number;
    out.least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < faces.size(); ++i) {
      if (!m.faces[i].judged) continue;
      out.stock[faces[i].face] = faces[i].least;
      // What an earlier cut leaves is the same for every casting; it counts only when it is gone.
      if (!m.faces[i].skin && faces[i].reserve >= 0) continue;
      if (!(faces[i].reserve >= out.least)) {
        out.least = faces[i].reserve;
        out.surface = faces[i].face;
        out.where = spot_words(c, faces[i]);
        out.left = left_words(c, faces[i].least, faces[i].must_leave, out.where);
      }
    }
    out.cleans_up = out.least >= 0;
    const auto kept = c.memo.call(
        "best shift", [&](const ShiftInputs& in) { return casting::best_shift(model, in.stock); },
        ShiftInputs{key, stock});
    const casting::BestShift& best = *kept;
    out.least_shifted = best.least;
    for (std::size_t k = 0; k + 5 < best.shifts.size(); k += 6) {
      out.shift_x += best.shifts[k];
      out.shift_y += best.shifts[k + 1];
      out.shift_z += best.shifts[k + 2];
    }
    if (best.status == casting::PoseStatus::found && best.tightest_face >= 0) {
      const casting::FaceStock& tightest = best.faces[static_cast<std::size_t>(best.tightest_face)];
      out.where_shifted = spot_words(c, tightest);
      out.left_shifted = left_words(c, tightest.least, tightest.must_leave, out.where_shifted);
    }
    if (best.status != casting::PoseStatus::found) out.least_shifted = out.least;
    // What the linear program leaves is known to its own rounding, far under a nanometre: exactly enough is enough.
    if (std::fabs(out.least_shifted) < 1e-9) out.least_shifted = 0;
    const bool clears = best.status == casting::PoseStatus::found && out.least_shifted >= 0;
    out.saved = !out.cleans_up && clears;
    if (!clears && best.status == casting::PoseStatus::found) out.proof = clash_words(c, best);
    if (out.cleans_up) out.shift_x = out.shift_y = out.shift_z = 0;
    c.study.castings.push_back(out);

    Finding f =
        start("casting", row.number, "measured",
              fmt::format("casting {} cleans up{}", row.number, out.saved ? " when shifted" : ""), unit::Kind::length);
    f.limit = finding::lower(0, c.plan.casting.skin.si > 0 ? c.plan.casting.skin.si : 1e-3);
    f.source = pose_source;
    f.formula = "least stock minus the depth asked for, over all faces, with the best shift the program may make";
    f.inputs = {{"as it lies", out.least, unit::Kind::length, {}},
                {"where", 0, unit::Kind::number, out.where},
                {"with the best shift", out.least_shifted, unit::Kind::length, {}},
                {"where then", 0, unit::Kind::number, out.where_shifted},
                {"shift X", out.shift_x, unit::Kind::length, {}},
                {"shift Y", out.shift_y, unit::Kind::length, {}},
                {"shift Z", out.shift_z, unit::Kind::length, {}}};
    const std::string shift = shift_words(c, out);
    if (out.cleans_up)
      f.sentence = fmt::format("Casting {} cleans up as it lies, {} to spare (tightest: {}).", row.number,
                               mm(c, out.least), out.where);
    else if (out.saved) {
      f.sentence = fmt::format("Casting {} does not clean up as it lies: {}. Shifted by {} it does, {} to spare.",
                               row.number, out.left, shift, mm(c, out.least_shifted));
      f.levers.push_back(
          {"program shift", "operation.shift", 0, std::hypot(out.shift_x, out.shift_y, out.shift_z), unit::Kind::length,
           fmt::format("for this casting move the cuts of {} by {} (part axes)", shifting_operations(c), shift)});
    } else {
      const bool may_shift = !shifting_operations(c).empty();
      if (const std::string would = would_save(c, m, model, stock); !would.empty()) {
        not_allowed[row.number] = would;
        f.sentence =
            fmt::format("Casting {} does not clean up: {}. A shift of {} would save it, but the plan allows none.",
                        row.number, out.left, would);
        f.levers.push_back({"program shift", "operation.shift", 0, 0, unit::Kind::length,
                            fmt::format("let the program shift (operation.shift): {} saves it", would)});
      } else {
        f.sentence = fmt::format("Casting {} cannot be saved: {}", row.number, out.left);
        if (may_shift && !out.left_shifted.empty())
          f.sentence += fmt::format("; with the best shift, {}, {}", shift, out.left_shifted);
        f.sentence += out.proof.empty() ? "." : ". " + capital(out.proof) + ".";
        f.levers.push_back({"casting", "casting", 0, 0, unit::Kind::length, "set it aside; " + out.proof});
      }
    }
    const int skin = assume(f, c.plan.casting.skin, "depth of the first cut under the skin", "casting.skin");
    const double firm = c.plan.casting.skin.si;
    const int unseen = assume(
        f, not_measured(m, model, sample, out.cleans_up ? faces : best.faces, out.cleans_up ? -1 : best.tightest_face),
        "what the table does not measure (mismatch, twist, roughness, tape)", "casting.measured");
    const double value = out.cleans_up ? out.least : out.least_shifted;
    const int tight_face = out.cleans_up ? -1 : best.tightest_face;
    const bool on_skin = out.cleans_up || (tight_face >= 0 && m.faces[static_cast<std::size_t>(tight_face)].skin);
    settle(c, std::move(f), [&](const std::vector<double>& v) {
      return value - (on_skin ? at(v, skin, firm) - firm : 0.0) + at(v, unseen, 0.0);
    });
    if (!m.open_faces.empty() && c.study.findings.back().state != finding::State::outside)
      not_all_judged(c.study.findings.back(), m);
  }
  return not_allowed;
}

/// A share that a handful of castings proves: nothing finer than ten in a million is ever claimed.
std::string proven(double share) { return share < 1e-5 ? "less than 10 ppm" : "up to " + share_words(share); }

/// What a small sample proves of all castings: never by its average.
void sample_findings(Context& c, const CastingModel& m, const casting::Model& model, const Sample& sample) {
  const int n = static_cast<int>(sample.rows.size());
  if (n == 0) return;
  std::vector<std::vector<double>> reserve(m.faces.size());
  for (const SampleRow& row : sample.rows) {
    const auto faces = casting::by_face(model, worse_bow(m, model, sample, row));
    for (std::size_t i = 0; i < faces.size(); ++i) reserve[i].push_back(faces[i].reserve);
  }
  for (std::size_t i = 0; i < m.faces.size(); ++i) {
    if (!m.faces[i].judged || !m.faces[i].skin) continue;
    const std::string words = words_of(c.plan, m.faces[i].id);
    Finding f =
        start("casting", m.faces[i].id, "sample", fmt::format("sample of {}: {}", n, words), unit::Kind::fraction);
    f.limit = finding::share(c.plan.header.goal.si);
    f.source = sample_source;
    f.formula =
        "share of castings that may fail, with 95 % confidence, from mean and spread of least stock in the sample";
    if (n < 5) {
      leave_open(c, std::move(f),
                 {fmt::format("casting.measured: at least 5 castings ({} are too few to say anything of the lot)", n)});
      continue;
    }
    const maths::Moments mo = maths::moments(reserve[i]);
    if (!(mo.s > 0)) {
      leave_open(c, std::move(f), {"casting.measured: a table whose columns say something of this surface"});
      continue;
    }
    const double good = maths::guaranteed_share(n, mo.mean / mo.s, 0.95);
    f.inputs = {
        {"castings measured", static_cast<double>(n), unit::Kind::number, {}},
        {"mean of the least stock to spare", mo.mean, unit::Kind::length, {}},
        {"standard deviation", mo.s, unit::Kind::length, {}},
        {"standard deviations to the limit", mo.mean / mo.s, unit::Kind::number, {}},
        {"needed for the goal", maths::tolerance_factor(n, 1 - c.plan.header.goal.si, 0.95), unit::Kind::number, {}}};
    const long long fails = std::count_if(reserve[i].begin(), reserve[i].end(), [](double x) { return !(x >= 0); });
    f.inputs.push_back({"fail in the sample", static_cast<double>(fails), unit::Kind::number, {}});
    f.sentence = fmt::format(
        "{} of {} measured castings fail on the {}; with 95 % confidence {} of all may, if they scatter normally.",
        fails, n, words, proven(1 - good));
    f.text = proven(1 - good);
    const double k = maths::tolerance_factor(n, 1 - c.plan.header.goal.si, 0.95);
    const double lacking = k * mo.s - mo.mean;
    if (lacking > 0)
      f.levers.push_back(
          {"castings measured", "casting.measured", static_cast<double>(n), std::nan(""), unit::Kind::number,
           fmt::format("measure more castings, or hold what scatters; {} more stock on the {} would prove it",
                       mm(c, lacking), words)});
    // No failure among the measured ones: the lot is neither shown to be good nor to be bad.
    if (fails == 0 && 1 - good > c.plan.header.goal.si) {
      leave_open(c, std::move(f),
                 {fmt::format(
                     "casting.measured: more castings (none of {} fails on the {}, but so few prove only that {} may)",
                     n, words, proven(1 - good))});
      continue;
    }
    const int skin = assume(f, c.plan.casting.skin, "depth of the first cut under the skin", "casting.skin");
    const double firm = c.plan.casting.skin.si;
    settle(c, std::move(f), [&](const std::vector<double>& v) {
      return 1 - maths::guaranteed_share(n, (mo.mean - at(v, skin, firm) + firm) / mo.s, 0.95);
    });
  }
}

void casting_sentence(Context& c, const CastingModel& m, const NotAllowed& not_allowed) {
  const CastingRow* worst = nullptr;
  for (const CastingRow& r : c.study.castings)
    if (!r.cleans_up && (worst == nullptr || r.least < worst->least)) worst = &r;
  const auto n = static_cast<int>(c.study.castings.size());
  if (n == 0) return;
  const auto bad = static_cast<int>(
      std::count_if(c.study.castings.begin(), c.study.castings.end(), [](const auto& r) { return !r.cleans_up; }));
  if (worst == nullptr) {
    if (!m.open_faces.empty()) {
      std::vector<std::string> faces;
      for (const auto& [face, what] : m.open_faces) faces.push_back(words_of(c.plan, face));
      c.study.casting_sentence = fmt::format(
          "No measured casting fails where it can be judged; whether they clean up cannot be said without the {}.",
          base::join(faces, ", "));
      return;
    }
    const auto least = std::min_element(c.study.castings.begin(), c.study.castings.end(),
                                        [](const auto& a, const auto& b) { return a.least < b.least; });
    c.study.casting_sentence =
        fmt::format("All {} measured castings clean up as they lie; the tightest is casting {}, {} to spare on the {}.",
                    n, least->number, mm(c, least->least), least->where);
    return;
  }
  const std::string shift = shift_words(c, *worst);
  std::string s = fmt::format("Casting {} does not clean up: {}. ", worst->number, worst->left);
  if (worst->saved) s += fmt::format("A shift of {} saves it, {} to spare.", shift, mm(c, worst->least_shifted));
  else if (const auto would = not_allowed.find(worst->number); would != not_allowed.end())
    s += fmt::format("The plan lets no operation shift; {} would save it.", would->second);
  else if (worst->left_shifted.empty() || shifting_operations(c).empty()) s += "No shift saves it.";
  else s += fmt::format("No shift saves it: with the best, {}, {}.", shift, worst->left_shifted);
  std::vector<std::string> saved, lost, would_be;
  for (const CastingRow& r : c.study.castings) {
    if (&r == worst || r.cleans_up) continue;
    const auto would = not_allowed.find(r.number);
    if (r.saved) saved.push_back(fmt::format("{} ({})", r.number, shift_words(c, r)));
    else if (would != not_allowed.end()) would_be.push_back(fmt::format("{} ({})", r.number, would->second));
    else lost.push_back(r.number);
  }
  if (bad > 1) {
    s += fmt::format(" {} of {} fail as they lie", bad, n);
    if (!saved.empty())
      s += fmt::format("; a shift saves {} {}", saved.size() > 1 ? "castings" : "casting", base::join(saved, "; "));
    if (!would_be.empty())
      s += fmt::format("; a shift would save {} {}", would_be.size() > 1 ? "castings" : "casting",
                       base::join(would_be, "; "));
    if (!lost.empty())
      s += fmt::format("; nothing saves {} {}", lost.size() > 1 ? "castings" : "casting", base::join(lost, ", "));
    s += ".";
  }
  c.study.casting_sentence = s;
}

}  // namespace

void casting_findings(Context& c) {
  const plan::Casting& k = c.plan.casting;
  if (k.sizes.empty() && k.place.line == 0) return;  // no casting in this plan
  const CastingModel m = casting_model(c.plan, numbers_of(c.plan), c.data.models.get());
  for (const auto& [face, what] : m.open_faces) {
    Finding f =
        start("casting", face, "clean_up", fmt::format("{} cleans up", words_of(c.plan, face)), unit::Kind::fraction);
    f.limit = finding::share(c.plan.header.goal.si);
    leave_open(c, std::move(f), {what});
  }
  const auto give_up = [&](std::vector<std::string> missing) {
    Finding f = start("casting", "all", "clean_up", "castings clean up everywhere", unit::Kind::fraction);
    f.limit = finding::share(c.plan.header.goal.si);
    // Every question that hangs on it is open, none is gone.
    for (const plan::Operation& o : c.plan.operations)
      for (const std::string& made : o.makes.value) {
        const plan::Reference r = plan::parse_reference(made);
        const plan::Feature* feature = plan::find_feature(c.plan, r.id);
        if (feature == nullptr || (feature->cast.value != "skin" && feature->cast.value != "cored")) continue;
        for (const std::string& ref : r.side.empty() ? sides_of(*feature) : std::vector<std::string>{made}) {
          if (m.open_faces.count(ref) > 0) continue;
          Finding g = start(o.id.value, ref, "clean_up", fmt::format("{} cleans up", words_of(c.plan, ref)),
                            unit::Kind::fraction);
          g.limit = finding::share(c.plan.header.goal.si);
          leave_open(c, std::move(g), missing);
        }
      }
    if (k.measured.table.known()) {
      Finding g = start("casting", "table", "measured", "measured castings clean up", unit::Kind::length);
      g.limit = finding::lower(0, 1e-3);
      leave_open(c, std::move(g), missing);
    }
    leave_open(c, std::move(f), std::move(missing));
  };
  if (!m.missing.empty()) return give_up(m.missing);
  if (k.points.value == "models" && c.data.models == nullptr) {
    std::vector<std::string> missing;
    for (const plan::Text* t : {&c.plan.part.model, &k.model}) {
      const auto why = c.data.not_read.find(t->value);
      if (!t->known())
        missing.emplace_back(t == &k.model ? "casting.model: STEP file of the raw casting"
                                           : "part.model: STEP file of the part");
      else if (why != c.data.not_read.end()) missing.push_back(fmt::format("{}: {}", t->value, why->second));
    }
    return give_up(missing);
  }
  const auto built = c.memo.call("casting model", build_model, BuildInputs{m.casting, m.route});
  if (!built->ok()) {
    std::vector<std::string> missing;
    for (const Problem& p : built->problems()) missing.push_back(say(p));
    return give_up(missing);
  }
  const Outcome<Sample> sample = read_sample(c.plan, c.data, m);
  if (!sample.ok()) {
    c.problems.insert(c.problems.end(), sample.problems().begin(), sample.problems().end());
    return;
  }
  Draws draws;
  for (std::size_t i = 0; i < m.faces.size(); ++i)
    if (m.faces[i].judged) clean_up_share(c, m, *sample, draws, static_cast<int>(i));
  clean_up_share(c, m, *sample, draws, -1);
  const NotAllowed not_allowed = measured_castings(c, m, built->value(), *sample);
  skin_findings(c, m, built->value());
  sample_findings(c, m, built->value(), *sample);
  casting_sentence(c, m, not_allowed);
  fill_picture(c, m, built->value(), *sample);
}

}  // namespace fettle::study
