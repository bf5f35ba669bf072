#pragma once
// Steps from entity to entity of a parsed file: attributes whether the instance is written simple or complex, users,
// units, placements. For the readers of this floor (pmi, surfaces); nothing here knows what a tolerance is.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "frame/frame.h"
#include "step/part21.h"

namespace fettle::step {

/// Units of the geometry. A file without a length unit has none here: ask the person, never assume millimetres.
struct Units {
  std::optional<double> length;  ///< metres per file unit
  std::string length_name;       ///< "mm", "in", ... in the trade's words, else as the file names it; "none"
  std::optional<double> angle;   ///< radians per file unit
  std::string angle_name;        ///< "deg", "rad", else as the file names it; "none"
};

/// A unit entity: what it measures, and its size in metres or radians.
struct Factor {
  enum class Sort { length, angle, other } sort = Sort::other;
  double si = 0;
  std::string name;
};

/// AXIS2_PLACEMENT_3D: point in metres, unit vectors.
struct Placed {
  frame::Vec3 point, axis, along;
};

class Entities {
 public:
  explicit Entities(const File& file) : f_(file) {}

  const File& file() const { return f_; }
  /// The instance a parameter refers to; nullptr for anything else or an absent number.
  const Instance* target(const Value* v) const { return v && v->kind == Kind::reference ? f_.find(v->id) : nullptr; }
  bool is(const Instance& e, std::string_view keyword) const { return f_.record(e, keyword) != nullptr; }
  /// The first of `names` that e carries, empty when none.
  std::string_view any(const Instance& e, std::span<const std::string_view> names) const;
  std::string_view first_keyword(const Instance& e) const { return f_.keyword(f_.records(e).front()); }
  /// Attribute `own` of record `keyword` in a complex instance, parameter `flat` of a simple one; nullptr when absent.
  const Value* attribute(const Instance& e, std::string_view keyword, std::size_t own, std::size_t flat) const;
  const Value* parameter(const Record& r, std::size_t i) const;
  std::string text(const Value* v) const { return v ? f_.string(*v) : std::string(); }
  /// The number in 5., LENGTH_MEASURE(5.) and the like.
  std::optional<double> plain(const Value* v) const;
  bool points_to(const Value* v, const Instance& e) const { return v && v->kind == Kind::reference && v->id == e.id; }
  /// Users of e that carry any of the names. Counts work; empty once the file has cost too much.
  std::vector<const Instance*> users(const Instance& e, std::span<const std::string_view> names);
  std::vector<const Instance*> users(const Instance& e, const char* name);

  /// Units of the context that the solids live in; any other context only when no solid names one.
  Units find_units() const;
  std::optional<Factor> factor(const Instance* unit, int depth = 0) const;
  /// CARTESIAN_POINT or DIRECTION as three plain numbers (file units).
  std::optional<frame::Vec3> triple(const Instance* e, std::string_view keyword) const;
  /// `length`: metres per file unit.
  std::optional<Placed> placement(const Instance& e, double length) const;

  /// True once more links were followed than any drawing has.
  bool exhausted() const { return steps_ > most_steps; }
  void step() { ++steps_; }

 protected:
  static constexpr std::size_t most_steps = 5'000'000;
  File f_;
  std::size_t steps_ = 0;
};

/// The trade's word for a unit of this size ("mm", "in"; "deg"), else `written`.
std::string length_name(double metres, const std::string& written);
std::string angle_name(double radians, const std::string& written);

}  // namespace fettle::step
