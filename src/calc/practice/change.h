#pragma once
// Variants: what an engineering change, another grade or another tool voids.
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace fettle::practice {

/// What may change in a plan.
enum class Changed {
  grade,         ///< material of the part or casting
  foundry,       ///< who casts it, a new lot included when it comes from elsewhere
  pattern,       ///< raw sizes, cores, gates, parting
  size,          ///< features of the part: size, place, kind
  requirement,   ///< what the drawing asks
  route,         ///< operations and their order
  locating,      ///< what the part sits on
  clamping,      ///< clamps, screws, torque
  pallet,        ///< plate, nests, anchors
  tool,          ///< a tool or its holder
  cutting_data,  ///< speed, feed, depth, width
  machine,
  program,
  gauge,
  room,    ///< temperatures
  people,  ///< who does it
  demand   ///< how many
};
std::span<const Changed> all_changes();
std::string_view word(Changed changed);  ///< "cutting data"
std::optional<Changed> changed_of(std::string_view word);

/// One thing that no longer holds.
struct Void {
  bool approval = false;         ///< something that people did or signed; false: what the study computes
  std::string_view what;         ///< for the study the name of its step ("holding"), else words ("first article")
  std::string_view again;        ///< what to do
  std::vector<Changed> because;  ///< which of the changes, in the order given
};
/// What the changes void, findings first; what they leave alone is in `stays`.
struct Voided {
  std::vector<Void> voided;
  std::vector<std::string_view> stays;
};
/// The union over all changes. Source: common practice; README.md has the table.
Voided voided(std::span<const Changed> changes);

}  // namespace fettle::practice
