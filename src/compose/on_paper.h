#pragma once
// Runs the steps of a composition the way a control would, on paper: the moves it means, before any dialect. Tests
// compare them with what others read from the printed text; the printed text carries the values it was run with, so
// that it can be read and timed before anything is measured.
#include <deque>
#include <map>
#include <string>
#include <vector>

#include "compose/compose.h"

namespace fettle::compose::paper {

struct Place {
  std::string kind;     // rapid, feed, arc, probe
  frame::Vec3 machine;  // of the tip, m
  int tool = 0;
};

/// Numbers of SI. A probe touches at the next of the given places (in the frame of the active zero); without any, where
/// the step says that it should; with `touches_nothing` at the end of its way.
class Machine {
 public:
  Machine(const Composition& c, std::map<std::string, double> values, std::deque<frame::Vec3> touches, double length);
  std::vector<Place> run();
  std::map<std::string, double>& values() { return values_; }
  /// Stops with words that were met; the run ends at one that a person must do something about.
  int stops() const { return stops_; }
  /// A text or a condition that could not be understood: a fault of ours.
  bool wrong() const { return wrong_; }
  const frame::Vec3& zero(int nest) { return zeros_[nest]; }
  void keep_zero(int nest, frame::Vec3 z) { zeros_[nest] = z; }
  const std::vector<frame::Vec3>& touched() const { return touched_; }
  bool touches_nothing = false;

 private:
  void blanks();
  bool take(char c);
  double sum();
  double product();
  double factor();
  std::string until(char c);
  double number(const std::string& text);
  bool holds(const Step& s);
  void steps(const Steps& all);
  std::size_t end_of(const Steps& all, std::size_t i);
  std::size_t one(const Steps& all, std::size_t i);
  frame::Vec3 tip() const;
  void go(const std::string& kind, frame::Vec3 to);
  void note(const std::string& kind);
  frame::Vec3 to_of(const Step& s);
  void top();
  void run_one(const Step& s);
  void probe(const Step& s);
  void cycle(const Step& s);

  const Composition& c_;
  std::map<std::string, double> values_;
  std::deque<frame::Vec3> touches_;
  double length_, active_ = 0;
  std::map<int, frame::Vec3> zeros_;
  frame::Vec3 nose_, origin_;
  int tool_ = 0, stops_ = 0;
  bool over_ = false, wrong_ = false;
  std::vector<Place> places_;
  std::vector<frame::Vec3> touched_;
  std::string text_;
  std::size_t at_ = 0;
};

/// What a person types in before the first part, as an example: pallets in a row, the first set, everything cut.
std::map<std::string, double> typed_in(const Composition& c);

}  // namespace fettle::compose::paper
