#pragma once
// A value, or the problems that stood in its way. Nothing on any floor prints, exits or throws for bad input.
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace fettle {

/// Whose fault a problem is. The three are kept apart all the way to the exit code (2, 3, 3).
enum class Fault {
  bad_input,   ///< a person's text, file or number: one clear message, exit 2
  our_fault,   ///< a bug or a failed check of our own, exit 3
  environment  ///< disk full, file not readable, child killed: exit 3, unless the named file is the person's input
};

/// A place in a text. Lines and columns count from 1; columns count code points. line 0: no place known.
struct Where {
  std::string file;
  int line = 0;
  int column = 0;
  bool operator==(const Where&) const = default;
};

/// One thing that is wrong, in words a machinist can act on.
struct Problem {
  Fault fault = Fault::bad_input;
  Where where;
  std::string what;      ///< one sentence: what is wrong ("wrong kind of quantity")
  std::string found;     ///< what stood there, as typed; may be empty
  std::string expected;  ///< what may stand there; may be empty
  std::string nearest;   ///< the nearest right word; may be empty
};
using Problems = std::vector<Problem>;

/// "file:12:9: what; found "x"; expected y; did you mean "z"?" on one line.
std::string say(const Problem& problem);

/// Shorthands for the two common problems.
Problem bad(std::string what, std::string found = {}, std::string expected = {}, std::string nearest = {});
Problem ours(std::string what);

/// Either a T or at least one Problem; the first error travels inside the value.
template <class T>
class [[nodiscard]] Outcome {
 public:
  Outcome(T value) : v_(std::in_place_index<0>, std::move(value)) {}                      // NOLINT: meant to convert
  Outcome(Problem problem) : v_(std::in_place_index<1>, Problems{std::move(problem)}) {}  // NOLINT
  Outcome(Problems problems) : v_(std::in_place_index<1>, std::move(problems)) {          // NOLINT
    if (std::get<1>(v_).empty()) std::get<1>(v_).push_back(ours("an outcome without value and without problem"));
  }
  bool ok() const { return v_.index() == 0; }
  explicit operator bool() const { return ok(); }
  const T& value() const& { return std::get<0>(v_); }
  T& value() & { return std::get<0>(v_); }
  T&& value() && { return std::get<0>(std::move(v_)); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }
  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  const Problems& problems() const { return std::get<1>(v_); }
  const Problem& problem() const { return std::get<1>(v_).front(); }

 private:
  std::variant<T, Problems> v_;
};

}  // namespace fettle
