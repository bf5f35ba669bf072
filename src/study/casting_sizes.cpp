// Raw dimensions against grade and allowance: what was ordered, before any casting is seen.
#include <fmt/format.h>

#include "base/text.h"
#include "calc/casting/grades.h"
#include "ref/casting_grades.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;

namespace {

struct Finished {
  bool there = false;
  double size = 0;
  int sides = 2;
  bool stays = false;  ///< the route cuts neither end: no allowance is asked of it
};

/// True when some operation cuts this surface, or a face over it.
bool cut_here(const plan::Plan& plan, const std::string& surface) {
  const std::string id = plan::parse_reference(surface).id;
  for (const plan::Operation& o : plan.operations)
    for (const std::string& made : o.makes.value) {
      const std::string by = plan::parse_reference(made).id;
      const plan::Feature* f = plan::find_feature(plan, by);
      if (made == surface || by == id) return true;
      if (f != nullptr && f->over.known() && plan::parse_reference(f->over.value).id == id) return true;
    }
  return false;
}

Finished finished_of(const plan::Plan& plan, const plan::CastSize& s) {
  Finished out;
  if (s.kind.value == "inside") {
    const Surface f = surface_of(plan, s.feature.value);
    out.there = f.there && f.round;
    const auto& d = f.there ? f.feature->diameter.value : unit::Limits{};
    out.size = d.nominal ? *d.nominal : 2 * f.radius;
    return out;
  }
  std::vector<std::string> ends = s.between.value;
  if (s.kind.value == "height") ends.push_back(s.feature.value);
  if (ends.size() != 2) return out;
  const Surface a = surface_of(plan, ends[0]), b = surface_of(plan, ends[1]);
  if (!a.there || !b.there || a.round || b.round) return out;
  const frame::Vec3 n = b.normal;
  out.size = std::fabs(frame::dot(n, a.point - b.point));
  out.sides = s.kind.value == "height" ? 1 : 2;
  const std::string last = ends.back();
  if (!plan.operations.empty()) {
    out.stays = !cut_here(plan, last) && (s.kind.value == "height" || !cut_here(plan, ends.front()));
    if (s.kind.value != "height" && cut_here(plan, last) != cut_here(plan, ends.front())) out.sides = 1;
  }
  out.there = out.size > 0;
  return out;
}

double largest_of(const plan::Plan& plan) {
  double largest = 0;
  for (double x : plan.part.size.value) largest = std::max(largest, x);
  return largest;
}

}  // namespace

void casting_size_findings(Context& c) {
  const plan::Casting& casting = c.plan.casting;
  for (const plan::CastSize& s : casting.sizes) {
    Finding f = start("casting", s.id.value, "raw_size", fmt::format("{} as ordered leaves the allowance", s.id.value),
                      unit::Kind::length);
    f.source = std::string(ref::dct_source) + "; " + std::string(ref::rma_source);
    f.formula = "least stock per side = (raw − DCT/2 − finished)/sides, cored sizes the other way; limit RMA";
    std::vector<std::string> missing;
    const Finished finished = finished_of(c.plan, s);
    if (finished.there && finished.stays) continue;
    if (!finished.there)
      missing.push_back(
          fmt::format("casting.size {}: between which finished surfaces (or which feature) it lies", s.id.value));
    if (!s.raw.known()) missing.push_back(fmt::format("casting.size {}: raw", s.id.value));
    const int grade = s.grade.known()                   ? s.grade.value
                      : casting.tolerance_grade.known() ? casting.tolerance_grade.value
                                                        : 0;
    if (!s.tolerance.known() && grade == 0) missing.push_back("casting.tolerance_grade: DCTG the foundry holds");
    if (!casting.allowance_grade.known()) missing.push_back("casting.allowance_grade: RMAG asked of the foundry");
    if (c.plan.part.size.value.empty()) missing.push_back("part.size: finished size");
    if (!missing.empty()) {
      leave_open(c, std::move(f), missing);
      continue;
    }
    const double largest = largest_of(c.plan);
    const Outcome<double> rma = ref::rma(casting.allowance_grade.value, largest);
    Outcome<double> dct = s.tolerance.known() ? Outcome<double>(s.tolerance.si) : ref::dct(grade, s.raw.si);
    if (!rma.ok() || !dct.ok()) {
      leave_open(c, std::move(f), {say(rma.ok() ? dct.problem() : rma.problem())});
      continue;
    }
    const bool inside = s.kind.value == "inside";
    const auto least = [&](double raw) {
      const double total = inside ? finished.size - raw : raw - finished.size;
      // to a nanometre: decimal sizes that meet exactly must not fall apart in binary
      return std::round((total - 0.5 * *dct) / finished.sides * 1e9) / 1e9;
    };
    f.limit = finding::lower(std::round(*rma * 1e9) / 1e9);
    casting::RawSizeInputs in;
    in.finished = finished.size;
    in.machined_sides = finished.sides;
    in.kind = inside ? casting::SizeKind::internal : casting::SizeKind::external;
    in.dctg = grade == 0 ? 9 : grade;
    in.rmag = casting.allowance_grade.value;
    in.largest_finished = largest;
    f.inputs = {{"finished", finished.size, unit::Kind::length, {}},
                {"raw, ordered", s.raw.si, unit::Kind::length, {}},
                {"DCT, whole", *dct, unit::Kind::length, {}},
                {"RMA per side", *rma, unit::Kind::length, {}},
                {"machined sides", static_cast<double>(finished.sides), unit::Kind::number, {}}};
    if (grade != 0) {
      const auto want = c.memo.call("raw_size", casting::raw_size, in);
      if (want->ok()) {
        f.inputs.push_back({"raw by the standard", want->value().raw, unit::Kind::length, {}});
        if (std::fabs(want->value().raw - s.raw.si) > 5e-6)
          f.levers.push_back({"raw " + s.id.value, "casting.size." + s.id.value + ".raw", s.raw.si, want->value().raw,
                              unit::Kind::length,
                              fmt::format("raw {} {} → {} has the allowance used up exactly", s.id.value,
                                          mm(c, s.raw.si), mm(c, want->value().raw))});
      }
    }
    f.sentence = fmt::format(
        "{} {} raw, {} finished: at the bad end of its tolerance {} a side is left, shared evenly; the grade asks for "
        "{}.",
        s.id.value, mm(c, s.raw.si), mm(c, finished.size), mm(c, least(s.raw.si)), mm(c, *rma));
    const int raw = assume(f, s.raw, "raw " + s.id.value, "casting.size." + s.id.value + ".raw");
    settle(c, std::move(f), [&](const std::vector<double>& v) { return least(at(v, raw, s.raw.si)); });
  }
}

}  // namespace fettle::study
