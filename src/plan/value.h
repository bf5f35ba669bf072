#pragma once
// The values of a plan. Each knows whether it was given, where it stands in which file, and what was typed.
#include <optional>
#include <string>
#include <vector>

#include "frame/frame.h"
#include "unit/quantity.h"

namespace fettle::plan {

/// Where a value stands: file number in Plan::files, lines and columns (code points, from 1), end exclusive.
struct Place {
  int file = -1;
  int line = 0, column = 0, end_line = 0, end_column = 0;
};

/// How a value came to be known.
enum class Origin {
  missing,  ///< nobody said it and there is no default: what needs it stays open
  given,    ///< stands in a file
  assumed   ///< a default of the schema or of a named thing ("hard jaw"), with a band
};

struct Value {
  Origin origin = Origin::missing;
  Place place;
  std::string typed;  ///< the text as it stands in the file or in the default
  bool known() const { return origin != Origin::missing; }
  bool given() const { return origin == Origin::given; }
  /// It stands in a file, or a program set it (then `typed` must be empty or say the same): such values are written
  /// out.
  bool written() const { return place.line > 0 || (given() && place.file < 0); }
};

/// A quantity with its band, SI. Without a band low = high = si. `source` and `replaced_by` are filled when assumed.
struct Number : Value {
  double si = 0, low = 0, high = 0;
  unit::Kind kind = unit::Kind::number;
  std::string source, replaced_by;
  bool banded() const { return low < high; }
};
struct Integer : Value {
  int value = 0;
};
struct Flag : Value {
  bool value = false;
};
struct Text : Value {
  std::string value;
};
struct Texts : Value {
  std::vector<std::string> value;
  std::vector<Place> places;  ///< of each element
};
struct Points : Value {
  std::vector<frame::Vec3> value;  ///< m
  std::vector<std::string> texts;  ///< as typed, one a text of the list
};
struct Sizes : Value {
  std::vector<double> value;  ///< m
};
struct Limits : Value {
  unit::Limits value;  ///< with fit codes resolved
};
struct Spread : Value {
  unit::Spread value;
};
struct Thread : Value {
  unit::Thread value;
};

}  // namespace fettle::plan
