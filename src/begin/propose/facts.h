#pragma once
// What the stages ask of features again and again.
#include <string>
#include <utility>
#include <vector>

#include "begin/propose/propose.h"
#include "plan/plan.h"

namespace fettle::begin {

/// The answer to a question; empty when nobody gave one.
std::string answer(const Scene& scene, const std::string& id);

/// The answers that take a runner-up, each with what may be said, as words between " | "; "1..9" stands for a whole
/// number, "holes" for two holes of the part, "H3@1, H3@2". Only those that a stage reads.
std::vector<std::pair<std::string, std::string>> known_takes();
/// What the ids of answers begin with that name the gauge of a close size: "take.gauge.H1b" = "air".
inline constexpr const char* gauge_takes = "take.gauge.";
/// Those that name the tool of a cut: "take.cut.H4.drill" = "T6".
inline constexpr const char* cut_takes = "take.cut.";
/// The whole id for a feature and the word of a cut.
std::string cut_take(const std::string& feature, const std::string& word);
/// The word of a kind of cut in such an answer: "rough and finish" -> "rough".
std::string cut_word(const std::string& kind);
/// All words of cuts that an answer may name.
const std::vector<std::string>& cut_words();
/// True when a runner-up may be taken by this answer: the id is known and the value is one of those allowed.
bool takes(const std::string& id, const std::string& value);

bool hole_like(const plan::Feature& f);      ///< bore, counterbore, hole, thread
double diameter_of(const plan::Feature& f);  ///< m, nominal or middle of the limits; 0: none
double length_of(const plan::Feature& f);    ///< m, from `from` to `to`; 0: not said
double nominal_of(const plan::Limits& v);    ///< m, nominal or middle of the limits; 0: none
bool is_floor(const plan::Feature& f);       ///< the flat at the end of a hole, as `begin` names it ("H1floor")
bool machined(const plan::Feature& f);       ///< something is cut there: what was there before is said
/// Requirements that speak of this feature, at either end.
std::vector<const plan::Requirement*> requirements_on(const plan::Plan& plan, const std::string& feature);
/// Width of the closest zone that any requirement of this feature leaves, m; infinity without one. Roughness and angles
/// do not count.
double closest(const plan::Plan& plan, const std::string& feature);
/// "+z" ... the side from which a feature is reached; empty when from more than one (a through hole, a profile) or
/// nobody knows.
std::string reached_from(const plan::Plan& plan, const plan::Feature& f);
/// The name of holes that the drawing has not and the pallet's screws need.
inline constexpr const char* made_for_screws = "holes made for the pallet's screws";
inline constexpr const char* made_for_pins = "holes made for the pallet's pins";
/// The model shows this feature; false: it is made for the pallet.
bool in_model(const plan::Feature& f);
/// A hole open at both ends: rays leave it both ways, or, where nobody looked, it reaches both ends of the part's box.
bool through(const Scene& scene, const plan::Feature& f);

/// The operation on the pallet cuts the whole outside: its profile, or the one round boss that it is.
bool cut_all_round(const Scene& scene, const Draft& draft);
/// Finished distance that an outside or height raw size belongs to, m; 0: not known.
double finished_of(const Scene& scene, const plan::Plan& plan, const plan::CastSize& size);

/// A length that was worked out, for a sentence: to a micron, or a tenth of a thousandth of an inch.
std::string shown_length(double si, bool inch);

}  // namespace fettle::begin
