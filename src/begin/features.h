#pragma once
// Features of the plan from the measured faces of the model.
#include <map>
#include <set>
#include <string>
#include <vector>

#include "begin/begin.h"

namespace fettle::begin {

/// The model faces that one point of a feature, or one side of a profile, stands for.
struct Bound {
  std::string feature;    ///< "H3", "outside"
  std::string reference;  ///< "H3@2", "outside.+x"; the id alone when the feature has one point and no sides
  std::set<int> faces;
  double diameter = 0;      ///< measured, m; 0: flat
  frame::Vec3 point, axis;  ///< on the plane with its normal, or on the axis
  double from = 0, to = 0;  ///< along the axis coordinate; bores only
  bool parts = false;       ///< pocket, slot, groove: several faces that a drawing may speak of one by one
};
struct Features {
  std::vector<plan::Feature> list;
  std::vector<Bound> bound;
  std::vector<std::string> left_out;  ///< what is in no feature, in words
};
/// Profile, faces, holes with their levels, floors and countersinks, grooves, pockets, slots, bosses; what lies oblique
/// to the axes becomes a "surface" with its direction in the note. Ids follow size and place, never numbers of the
/// file. `threads`: thread by face id, from the drawing.
Features features_of(const solid::Model& part, const std::map<int, std::string>& threads, bool inch);

/// Text of a length: rounded to a nanometre or a millionth of an inch; within 50 nm of a whole micrometre that one.
std::string length_text(double si, bool inch);
std::string point_text(frame::Vec3 p, bool inch);
/// "118 deg", to a ten-thousandth.
std::string angle_text(double rad);

/// Fills a value as if a person had typed it: the number is what the text says.
void give(plan::Text& v, const std::string& text);
void give(plan::Texts& v, const std::string& text);
void give(plan::Number& v, unit::Kind kind, const std::string& text);
void give(plan::Limits& v, const std::string& text, unit::Kind kind = unit::Kind::length);
void give(plan::Points& v, const std::vector<frame::Vec3>& points, bool inch);
void give(plan::Sizes& v, const std::vector<double>& sizes, bool inch);
void give_length(plan::Number& v, double si, bool inch);

/// "+x" ... for a direction along an axis, empty for an oblique one.
std::string axis_word(frame::Vec3 n);
/// "+x", or "0.5, 0, 0.866025" for an oblique one.
std::string direction_text(frame::Vec3 n);
/// A number that sorts and compares alike after a re-export: tenths of a micrometre, whose borders fall on no size that
/// anybody draws.
long long place_key(double si);

}  // namespace fettle::begin
