#pragma once
// What stands on the machine's table while the program runs, and the tools.
#include <array>
#include <map>
#include <string>
#include <vector>

#include "prove/shape.h"

namespace fettle::prove {

/// One pallet, or all parts of a table without pallets. Frame: the pallet's, or the middle of the row.
struct Table {
  removal::Field metal;     ///< castings as they are now
  removal::Field finished;  ///< parts as they should leave, walls a little back; for gouges
  removal::Field fixture;   ///< plate where its height is known, screw heads, jaws
  double high = 0;          ///< m, top of all of it
};
struct Scene {
  compose::SetUp set_up;
  std::vector<Table> tables;
  std::vector<int> table_of;          ///< of each nest
  std::vector<Shape> raw, finished;   ///< of each nest; finished without slack
  std::vector<std::string> castings;  ///< number of the casting in each nest; empty: nominal
  double heads = 0;
  bool plate_known = false;
  std::vector<std::string> notes;
};
/// `draws`: one casting per nest; empty: all nominal.
Outcome<Scene> make_scene(const plan::Plan& plan, const plan::Operation& o, double cell,
                          const std::vector<CastingDraw>& draws);
/// Castings from number `first` on, one per nest; empty with a note where the plan says too little. Drawn with the seed
/// from the plan's statistics, or rows of its table of measured castings, which begins again at its end.
std::vector<CastingDraw> draw_castings(const plan::Plan& plan, const plan::Operation& o, std::size_t nests, int first,
                                       std::uint64_t seed, bool measured, std::vector<std::string>& notes);

/// A tool as the proof sees it.
struct ToolShape {
  const plan::Tool* tool = nullptr;
  std::string id;
  removal::Cutter cutter;  ///< diameter 0: nothing is known of it
  removal::Cutter gouge;   ///< what is held against the finished part
  double slack = 0;        ///< m that it may stand in the finished part (chamfers)
  double stick_out = 0, holder = 0;
  bool axial = false, tap = false, probe = false;
};
/// By the number in the program; `tool` null: no such tool in the plan.
ToolShape tool_shape(const plan::Plan& plan, const plan::Operation& o, int number);
int number_in(const std::string& id);

}  // namespace fettle::prove
