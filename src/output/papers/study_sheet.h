#pragma once
// The study on paper: one PDF, and the drawings as SVG. Plain values in; numbers are printed here and made elsewhere.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/mechanics.h"
#include "output/drawings/panels.h"
#include "output/drawings/plate.h"
#include "output/drawings/views.h"

namespace fettle::papers {

/// A drawing of the sheet under the name of its file ("pallet-1.svg").
struct NamedDrawing {
  std::string file;
  drawings::Drawing drawing;
};

/// Everything that the study's paper says.
struct StudySheet {
  enum class Paper { a4, letter } paper = Paper::a4;
  std::string part;       ///< "WVB-3 valve body"
  std::string plan_name;  ///< "plan-0.toml"
  std::string plan_hash;
  std::string version;  ///< of the program: "Fettle 0.1.0"
  std::string tables;   ///< versions of the tables used
  std::string seed;
  std::string date;                            ///< "YYYY-MM-DD" from the plan or the person; empty: none is printed
  std::string verdict;                         ///< rich: *words* in asterisks get the accent
  std::string sub;                             ///< below the counts; may be empty
  std::vector<drawings::FindingRow> findings;  ///< all, what needs a hand first
  drawings::RouteView route;
  std::vector<drawings::PalletView> pallets;
  std::vector<drawings::CastingView> castings;  ///< the worst first
  std::vector<drawings::LocatingView> locating;
  drawings::SpreadsView spreads;  ///< the worst first; without rows there is no such page
  drawings::MendingView mending;  ///< of what is outside or tight; may be empty
  std::optional<drawings::CycleView> cycle;
  std::optional<drawings::CountCurveView> count_curve;
  std::optional<drawings::PanelsView> thickness;  ///< give, first mode and weight over the plate's thickness
  std::vector<drawings::PanelsView> forces;       ///< of one cut through a turn; the largest first
  std::vector<drawings::PanelsView> lobes;        ///< quiet depth over speed; the worst first
  std::optional<drawings::LimitsView> limits;     ///< quiet depth at each nest, tool by tool
  std::vector<drawings::SlipView> slips;          ///< worst case of each operation; the worst first
  std::vector<drawings::JawView> jaws;            ///< clamp force of each part under one jaw
  /// More drawings of "Does it bend", no wider than the body of the page (186 mm), `file` with its ".svg".
  std::vector<NamedDrawing> bend;
  /// The same of "Where the tools go" and "What coolant stays"; none higher than a page's body.
  std::vector<NamedDrawing> paths, coolant;
  std::vector<drawings::AssumptionRow> assumptions;  ///< by effect
  std::vector<std::string> cautions;
  unit::Style style;
};

/// The PDF's bytes and what stands on each page. Every page carries plan, hash, version, seed, date and its number.
Outcome<drawings::Rendered> study_pdf(const StudySheet& sheet);

/// The sheet's drawings each by itself, with title block.
std::vector<NamedDrawing> study_drawings(const StudySheet& sheet);

/// Writes study.pdf and the SVG files into `folder` (made when missing); each file whole or not at all. Gives the paths
/// written. Nothing is written when any of them cannot be drawn.
Outcome<std::vector<std::string>> write_study(const StudySheet& sheet, const std::string& folder);

}  // namespace fettle::papers
