#pragma once
// A part seen along one of its axes, as lines on paper: faces that look at the reader, and the mouths of round
// features.
#include <array>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "app/serve/face_match.h"
#include "frame/frame.h"
#include "plan/plan.h"
#include "solid/solid.h"

namespace fettle::serve {

using Ring = std::vector<std::array<double, 2>>;

/// One face that looks at the reader.
struct FlatFace {
  int feature = -1;   ///< place in the plan; -1: none
  double area = 0;    ///< m2, within its outer rim as drawn
  Ring ring;          ///< m
  bool over = false;  ///< a later cut takes it away
};
/// One place of a round or square feature whose axis points at the reader or away.
struct FlatMark {
  int feature = -1, place = 0;  ///< place: 0 for the first
  double x = 0, y = 0;          ///< m
  double wide = 0, high = 0;    ///< m; high 0: round, of that diameter
  bool hidden = false;          ///< covered by metal
};
/// A part on paper.
struct Flat {
  std::array<double, 9> axes{};  ///< the part's directions to the right, up and to the reader, one after another
  std::array<double, 4> box{};   ///< m: left, bottom, right, top
  std::vector<Ring> back;        ///< what looks elsewhere: it says where metal is at all
  std::vector<FlatFace> faces;   ///< the largest first, so that a floor lies on the face round it
  std::vector<FlatMark> marks;   ///< the largest first
  std::vector<FlatFace> sides;   ///< walls seen on end: lines that belong to a feature
  bool from_model = false;
};

/// The directions along which a part can be drawn.
const std::vector<std::string>& flat_ways();

/// How the part stands when somebody looks at it from one of them: its top stays up; from above and below as it lies.
frame::Pose standing(const std::string& from);

/// Draws the part as it lies: x to the right, y up, z to the reader. Without a model the part is the block of its
/// sizes. Curves are drawn with as many points as a screen shows.
Flat flat_of(const plan::Plan& plan, const Matched& part, const frame::Pose& lies);
/// {up, axes, box, model, back, faces, sides, marks}: docs/api.md.
nlohmann::json flat_json(const Flat& flat, const plan::Plan& plan, const std::string& up);
/// The outlines of a solid as it lies: a casting around its part.
std::vector<Ring> outlines_of(const solid::Model& model, frame::Vec3 by, const frame::Pose& lies);
nlohmann::json rings_json(const std::vector<Ring>& rings);

}  // namespace fettle::serve
