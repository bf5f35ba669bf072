#pragma once
// Features of the plan from the measured faces of the model.
#include <set>
#include <string>
#include <vector>

#include "begin/begin.h"

namespace fettle::begin {

/// A feature of the plan and the model faces it stands for; one entry per side of a profile.
struct Bound {
  std::string reference;  ///< "outside.+x", "H3@2"
  std::set<int> faces;
  double diameter = 0;      ///< measured, m; 0: flat
  frame::Vec3 point, axis;  ///< on the plane with its normal, or on the axis
  double from = 0, to = 0;  ///< along Z (or its axis)
};
struct Features {
  std::vector<plan::Feature> list;
  std::vector<Bound> bound;
  std::vector<std::string> left_out;  ///< what the plan cannot say yet: oblique holes and planes
};
Features features_of(const solid::Model& part, const step::Pmi& pmi, bool inch);

/// Text of a length: rounded to a nanometre, in mm or inch.
std::string length_text(double si, bool inch);
std::string point_text(frame::Vec3 p, bool inch);

/// Fills a value as if a person had typed it.
void give(plan::Text& v, const std::string& text);
void give(plan::Texts& v, const std::string& text);
void give(plan::Number& v, double si, unit::Kind kind, const std::string& text);
void give(plan::Limits& v, const std::string& text);

/// "+x" ... for a direction along an axis, empty for an oblique one.
std::string axis_word(frame::Vec3 n);

}  // namespace fettle::begin
