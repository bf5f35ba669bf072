#pragma once
// What the couplings share. A coupling reads the plan, calls sciences through the memo, and adds findings.
#include <cmath>
#include <exception>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "finding/finding.h"
#include "plan/plan.h"
#include "plan/read.h"
#include "study/study.h"

namespace fettle::study {

class OfOneStudy;

struct Context {
  const plan::Plan& plan;
  const Data& data;
  const Options& options;
  Memo& memo;
  Study& study;
  Problems& problems;
  unit::Style style;
  int draws = 0, draws_expected = 1;           ///< of virtual castings, for the progress
  std::shared_ptr<OfOneStudy> of_one_study{};  ///< what several sciences ask of the plan (of_one_study.h); may be null
};

/// Thrown where a run that was asked to stop notices it: run() makes a problem of it.
struct Stopped : std::exception {
  const char* what() const noexcept override { return "stopped"; }
};
/// Asks, in a step that takes long.
inline void look_for_stop(const Context& c) {
  if (c.options.stop && c.options.stop()) throw Stopped();
}

/// Share of a whole study's time that the draws of castings take, for the progress.
constexpr double draws_share = 0.7;

void lifting_findings(Context& c);
void casting_size_findings(Context& c);
void casting_findings(Context& c);
void locating_findings(Context& c);
void loading_findings(Context& c, const plan::Operation& o);
void cutting_findings(Context& c);
/// All of holding: pallets, screws, anchors, vises, jaws, chucks.
void holding_findings(Context& c);
void pallet_holding_findings(Context& c);
void screw_findings(Context& c);
void anchor_findings(Context& c);
void vise_findings(Context& c);
void chuck_findings(Context& c);
void stiffness_findings(Context& c);
void chatter_findings(Context& c);
void tolerance_findings(Context& c);
void working_findings(Context& c);
void tapped_findings(Context& c);
void bore_findings(Context& c);
void timing_findings(Context& c);
/// O-rings in their grooves; coolant, troughs and swarf; tools against what stands around their cuts.
void seal_findings(Context& c);
void run_off_findings(Context& c);
void reach_findings(Context& c);
void swap_findings(Context& c, const plan::Operation& o);

/// A finding with its id parts, title and kind set; state open.
finding::Finding start(std::string_view operation, std::string_view feature, std::string_view question,
                       std::string title, unit::Kind kind);

/// Judges (or, without bands, only at the stated values) and adds it.
void settle(Context& c, finding::Finding f, const std::function<double(const std::vector<double>&)>& value_at);
/// Adds it as open.
void leave_open(Context& c, finding::Finding f, std::vector<std::string> missing);

/// An assumption for a number that is assumed, or given with a band; its index in f.assumptions, or -1 when the number
/// is firm.
int assume(finding::Finding& f, const plan::Number& n, std::string name, std::string key);
/// A number that nobody said, with its band: where it comes from, and what would replace it.
plan::Number assumed(unit::Kind kind, double value, double low, double high, std::string source,
                     std::string replaced_by);
/// kg of coolant that lifting counts on where nobody weighed it: from memory, a hand-sized pallet.
constexpr double coolant_on_pallet = 0.3;
/// v[index], or the firm value.
inline double at(const std::vector<double>& v, int index, double firm) {
  return index < 0 ? firm : v[static_cast<std::size_t>(index)];
}

/// One planar side or one axis of a feature, in the part frame, finished. Profile sides by reference "F1.+x".
struct Surface {
  bool there = false;
  bool round = false;  ///< bore or counterbore wall
  frame::Vec3 point;   ///< on the plane, or on the axis at mid height
  frame::Vec3 normal;  ///< outward (out of metal), or axis direction for round
  double radius = 0;
  double extent_u = 0, extent_v = 0;  ///< size of the plane along its two axes (x or y first, then z or y)
  double from = 0, to = 0;            ///< along the axis, for round
  const plan::Feature* feature = nullptr;
  std::string reference;
};
Surface surface_of(const plan::Plan& plan, const plan::Reference& reference);
/// Height of the parallels in a vise: the plan's, else as they usually are, with a band.
plan::Number parallel_of(const plan::Operation& o);
/// How far the jaws of a vise reach above what the part rests on, m, on the lowest parallels of the band: what runs
/// clear of that runs clear of all. Nothing where their height is not said.
std::optional<double> jaws_above_rest(const plan::Operation& o);
Surface surface_of(const plan::Plan& plan, std::string_view reference);
frame::Vec3 direction(std::string_view word);  ///< "+x" -> (1,0,0)
/// One of the plan's axes across a direction that lies along another: X, or Y across X.
inline frame::Vec3 axis_across(frame::Vec3 n) {
  return std::fabs(n.x) > 0.5 ? frame::Vec3{0, 1, 0} : frame::Vec3{1, 0, 0};
}
/// Whether two surfaces lie in the plan as far apart as a requirement of theirs allows, up to what typing rounds away.
/// `drawn`: counted the way that the requirement counts.
bool drawn_within(const unit::Limits& limits, double drawn);

/// What to give where an operation has cuts and makes this surface, and none of them cuts it; empty: one does, or the
/// operation needs none (ground, honed, by hand) or gives none.
std::string what_cuts(const plan::Plan& plan, const plan::Operation& o, const std::string& reference);

/// All surfaces a feature stands for: four sides for a profile, one otherwise.
std::vector<std::string> sides_of(const plan::Feature& feature);

/// "left +X end", "top", "counterbore wall": words for a surface.
std::string words_of(const plan::Plan& plan, std::string_view reference);

std::string lower_id(const plan::Operation& o);
std::string mm(const Context& c, double si);
/// The first letter large.
std::string capital(std::string s);
/// A share for people: never "0 %" and never a number smaller than anybody can know ("< 0.001 ppm").
std::string share_words(double share);
/// The same for `hits` of `of` tries whose upper 95 % bound is `high`: "< 0.02 %" when none was hit.
std::string share_words(double share, long long hits, double high);

/// The value where f changes sign between a and b (f(a), f(b) of opposite sign); NaN when there is none.
double flip(const std::function<double(double)>& f, double a, double b);

}  // namespace fettle::study
