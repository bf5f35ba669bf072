#pragma once
// A raw casting as a solid, from the finished part: what is drilled is filled in, what is cut carries stock, the mould
// leaves its cores. All kernel work runs in the child.
#include <array>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"
#include "solid/solid.h"

namespace fettle::solid {

/// A straight round piece of metal, in the frame of the wish.
struct RawPlug {
  Vec3 from, to;
  double diameter = 0;  ///< m
};
/// Floors of a hollow and how far they rise to its mouth.
struct RawRaise {
  std::vector<int> floors;  ///< STEP numbers
  Vec3 up;                  ///< in the frame of the wish
  double depth = 0;         ///< m
};
/// Faces that the casting does not have, by their STEP numbers: a hole with all its steps, a pocket.
struct RawFill {
  std::string name;  ///< for words
  std::vector<int> faces;
  /// What fills it where its faces cannot be taken away: plugs of holes, raised floors of hollows.
  std::vector<RawPlug> plugs;
  std::vector<RawRaise> raises;
};
/// Every face in this plane that looks along `normal` stands out by so much.
struct RawFace {
  std::string name;
  Vec3 point, normal;
  double stock = 0;  ///< m, above zero
};
/// A round core, straight or with draft. An end that opens goes to where the stock ends.
struct RawCore {
  std::string name;
  Vec3 from, to;
  double diameter = 0;     ///< m, at `from`
  double to_diameter = 0;  ///< m, at `to`; 0: the same
};
/// A profile of four upright sides round the box, with rounded corners; draft away from the parting line, where the
/// stock holds.
struct RawOutside {
  bool there = false;
  double radius = 0;                                    ///< m, of its upright corners, finished
  double low_x = 0, high_x = 0, low_y = 0, high_y = 0;  ///< m, stock on the four sides
  double draft = 0, parting = 0;                        ///< rad; m, height
};
struct RawWish {
  frame::Pose pose;  ///< of the model in the frame of what follows
  Box box;           ///< of the finished part in that frame
  std::string product;
  std::vector<RawFill> fills;
  RawOutside outside;
  std::vector<RawFace> faces;
  std::vector<RawCore> cores;
};

struct RawModel {
  std::string step;                   ///< STEP text, in the frame and unit of the part's file
  double volume = 0;                  ///< m3
  std::vector<std::string> not_made;  ///< names of what the kernel could not make; the rest is there
};
/// Makes the raw casting and writes it as STEP. Each change is kept only when one sound solid comes out of it that has
/// grown (cores: shrunk); what fails is named and left out. Problems: those of reading, or a result that is no solid.
Outcome<RawModel> raw_model(const std::string& step, const std::string& name, const std::string& unit_if_none,
                            const RawWish& wish);

}  // namespace fettle::solid
