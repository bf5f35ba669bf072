#pragma once
// What a clamped part carries before it must move: the largest load factor over all contact forces that friction
// allows, with the mechanism that limits it as proof. Exact linear programming over faceted friction cones; every
// answer is checked from the data as given.
#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "frame/frame.h"

namespace fettle::holding {

using frame::Vec3;

/// Where something of the fixture touches the part. One frame throughout, m and N.
struct Contact {
  enum class Kind {
    rest,   ///< only pushes, as hard as it is pressed: pad, fixed jaw, stop
    clamp,  ///< pushes with the same force whatever the part does: screw head, vise jaw, strap
    pin     ///< frictionless pin in a hole: pushes square to its axis, counts only in the verdict with pins
  };
  std::string name;
  Kind kind = Kind::rest;
  Vec3 at;
  Vec3 normal;          ///< into the part; of a pin: its axis. Any length but zero
  double friction = 0;  ///< low end
  double force = 0;     ///< clamp: its push, low end
  /// Clamp: its face is held sideways by something stiff (a jaw, a strap on its own post), so its friction counts. A
  /// screw head leans with its screw and holds nothing sideways: false.
  bool held_sideways = false;
  double patch = 0;      ///< m, diameter over which it touches: resists turning on the spot by 2/3 mu N R; 0: a point
  double capacity = 0;   ///< N, what a rest can take; 0: more than ever comes
  Vec3 across;           ///< relieved pin: the only direction in which it stops, both ways; zero: a round pin
  double stiffness = 0;  ///< N/m, along the normal, for the elastic check
  double side_share = 0.82;  ///< sideways over normal stiffness: 2(1-nu)/(2-nu) of a pressed spot (Mindlin 1949)
};

/// A force with a moment on the part.
struct Load {
  Vec3 at, force, moment;
};

/// What a load case carries, and why not more.
struct Carried {
  enum class Status {
    failed,      ///< the check of the answer failed: do not use
    limited,     ///< `factor` is the largest one
    unlimited,   ///< whatever the size of the load, it is carried; `force` shows how per unit of load
    not_at_rest  ///< clamps and weight alone are not carried: the factor means nothing
  };
  Status status = Status::failed;
  double factor = 0;
  /// Limited: motion of the part that proves it, velocity of `about` and turn (rad/s) at which the load has a power of
  /// 1 W: every admissible contact force has a power >= -price of its bound, and clamps, weight and bounds together
  /// -factor.
  Vec3 slide, turn;
  Vec3 about;
  std::vector<double> push;                                ///< N, per generator of the fixture
  std::vector<double> price;                               ///< per bound of the fixture
  double primal_residual = 0, dual_residual = 0, gap = 0;  ///< relative to the size of the numbers
  int pivots = 0;
  bool slow_way = false;  ///< the quick search did not pass its check; maths/simplex gave the answer
};

/// One direction in which one contact can push: force and moment about Fixture::about() per newton (of a bounded clamp:
/// per share of its friction).
struct Generator {
  std::size_t contact = 0;
  int bound = -1;  ///< index of the bound it counts against
  Vec3 force, moment;
};
/// sum of the pushes of its generators <= most.
struct Bound {
  std::size_t contact = 0;
  double most = 0;
};

/// A clamped part ready for many load cases. Not safe from several threads: give each its own.
class Fixture {
 public:
  /// `rest`: what acts besides clamps while nothing cuts (weight). `facets`: sides of each friction cone, at least 4;
  /// the cone lies inside the round one, so the factor is never too high. `pins`: pins count.
  Fixture(std::vector<Contact> contacts, const Load& rest, int facets = 8, bool pins = false);

  /// Empty, or what is wrong with the contacts.
  const std::string& refused() const { return refused_; }
  /// Clamps and weight are carried while nothing cuts.
  bool at_rest() const { return at_rest_; }
  /// Largest factor for a load. Relative residuals are held to 1e-9.
  const Carried& carry(const Load& load);
  /// The same from the start, without what earlier cases left.
  const Carried& carry_cold(const Load& load);
  /// The same by maths/simplex.
  Carried carry_slow(const Load& load) const;

  const std::vector<Contact>& contacts() const { return contacts_; }
  const std::vector<Generator>& generators() const { return generators_; }
  const std::vector<Bound>& bounds() const { return bounds_; }
  Vec3 about() const { return about_; }
  /// What acts besides clamps, as given: its force points down.
  Vec3 weight() const { return rest_.force; }
  /// Clamps and weight: force and moment about about().
  Load steady() const { return steady_; }
  /// Force of each contact on the part at an answer, clamps' own push included.
  std::vector<Vec3> contact_forces(const Carried& answer) const;

 private:
  struct State {
    std::vector<double> inverse;  // rows x rows, of the basis
    std::vector<int> basis;       // column in each row
    std::vector<double> x;        // of the basis
  };
  void make_generators(int facets, bool pins);
  void make_base();
  double column(int j, std::size_t row) const;
  bool artificial(int j) const { return j > static_cast<int>(generators_.size() + bounds_.size()); }
  void times_inverse(const State& s, int j, std::vector<double>& d) const;
  void pivot(State& s, std::size_t row, int j, const std::vector<double>& d) const;
  int price(const double* y, bool first_only) const;
  std::size_t leaving(const State& s, const std::vector<double>& d, bool first_index) const;
  bool search(State& s, bool& without_end);
  bool warm_start(State& s);
  void solve(const Load& load, bool cold);
  void answer_of(const State& s, bool without_end);
  void check(Carried& a) const;

  std::vector<Contact> contacts_;
  Load rest_, steady_;
  Vec3 about_;
  std::string refused_;
  std::vector<Generator> generators_;
  std::vector<Bound> bounds_;
  double length_ = 1, force_ = 1, load_size_ = 1;  // scales
  std::size_t rows_ = 6;
  std::vector<double> columns_;  // generators, scaled: six runs, one per row
  std::vector<double> right_;    // scaled right side
  std::vector<double> sign_;     // of the artificial columns
  std::array<double, 6> load_{};
  Load now_;
  bool at_rest_ = false, last_there_ = false;
  State base_, last_, work_;
  std::vector<double> d_;
  mutable std::vector<double> score_;
  Carried answer_;
};

/// How a mechanism looks, in words and as motion without the lift that faceted friction carries with it.
struct Mechanism {
  Vec3 slide, turn;    ///< velocity of `about` (m) and turn, scaled: fastest point of the contacts moves by 1
  std::string words;   ///< "slides to -Y", "tips over the edge to +X: pad 1 lifts", "turns about Z at X 35, Y 48 mm"
  std::string motion;  ///< the same without place and what lifts
  std::string lifts;   ///< "pad 1 lifts"; may be empty
  std::optional<Vec3> centre;      ///< m, a point of the axis it turns about
  Vec3 axis;                       ///< unit, with `centre`
  std::vector<bool> slips, opens;  ///< per contact
};
/// The dominant motion decides the words: a slide; a turn about the upright (against the weight; without weight the
/// seats' common normal, without that Z); tipping, when most of the turn is about a lying axis and something lifts.
Mechanism mechanism(const Fixture& fixture, const Carried& answer);
/// The words with the place in a person's own unit of `unit` m.
std::string in_words(const Mechanism& mechanism, double unit, const char* name, int digits);

/// Many cases at once.
struct HoldingInputs {
  std::vector<Contact> contacts;
  Load rest;
  std::vector<Load> loads;
  int facets = 8, fine_facets = 32;  ///< fine: the worst are worked out again with these
  bool pins = false;
};
struct HoldingResult {
  std::string refused;
  bool at_rest = false;
  int failed = 0;  ///< cases whose answer did not pass its check
  int unlimited = 0;
  std::vector<double> factor;  ///< per load, with `facets`; infinite where unlimited
  std::size_t worst = 0;       ///< load with the least factor (with fine cones)
  double least = 0;            ///< its factor with fine cones; infinite when no load limits
  double least_coarse = 0;     ///< its factor with `facets`
  Carried answer;              ///< of the worst, fine
  Mechanism mechanism;
  std::vector<Vec3> forces;        ///< per contact
  std::vector<double> first_slip;  ///< per contact: factor at which it slips when contacts are springs; NaN: no springs
  double creeps = 0;               ///< least of them; NaN without stiffness
  std::size_t creeps_at = 0;       ///< that contact
};
/// The worst of many loads. Exact for the fine cones: every case whose coarse (lower) factor lies below the least fine
/// one found is worked out again.
HoldingResult holding(const HoldingInputs& in);

/// What people must be told wherever clamping is judged.
std::vector<std::string> holding_cautions();

}  // namespace fettle::holding
