#pragma once
// Which clampings a part needs, and what each of them makes: a search over access, datums and what must agree.
#include <array>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "begin/propose/propose.h"

namespace fettle::begin {

/// m, left on an edge that is prepared in a vise and finished on the pallet. Common practice.
inline constexpr double edge_stock = 0.5e-3;

/// The outermost flat of the part in one of six directions.
struct OuterSide {
  std::string reference;  ///< "top", "outside.+y"; empty: nothing flat there
  std::string feature;    ///< its feature
  frame::Vec3 normal, at;
  double extent_u = 0, extent_v = 0;  ///< m, along the two other axes in the order x, y, z
  bool cut = false;                   ///< it is machined somewhere; else it stays as cast
  bool round = false;                 ///< the side of a cylinder: it touches along one line
  bool inner = false;                 ///< not at the box: a ledge, or a rough face that leans
  double lean = 0;                    ///< rad, of a rough face with draft
  std::vector<frame::Vec3> points;    ///< of an inner one: places that a post or a stop reaches
};
/// Directions in the order +x, -x, +y, -y, +z, -z.
constexpr std::array<const char*, 6> direction_words{"+x", "-x", "+y", "-y", "+z", "-z"};
int direction_index(const std::string& word);  ///< -1: none of them
constexpr int opposite(int d) { return d ^ 1; }
constexpr int axis_of(int d) { return d / 2; }

/// A flat that looks one way, wherever it lies.
struct InnerSide {
  std::string feature;
  double lean = 0, area = 0;  ///< rad; m2 that is reached straight
  bool carries = false;       ///< large enough to sit on
  std::vector<frame::Vec3> points;
};
/// What rays through the part's mesh say, once for all routes.
struct Sight {
  std::map<std::string, std::array<bool, 6>> open;  ///< hole -> is it reached from that direction
  std::array<std::vector<InnerSide>, 6> flats;  ///< those that carry the part first, then square ones, then large ones
};
/// Casts the rays; nothing when the model has no mesh.
std::shared_ptr<const Sight> look_around(const solid::Model& part, const plan::Plan& plan, bool inch);
/// Three of these places with the largest triangle seen along an axis; one that holds `over` counts double.
std::vector<frame::Vec3> three_rests(const std::vector<frame::Vec3>& all, frame::Vec3 over, int axis);

struct Clamping {
  /// fixture: three rests below, stops at two sides, straps from above. angle: the same, standing against an angle
  /// plate: three rests at its back, the straps press on to it. carrier: several in a row under one jaw that two vises
  /// push.
  enum class Kind { grind, vise, gang, pallet, chuck, fixture, angle, carrier } kind = Kind::vise;
  int up = 4;                      ///< direction that points to the spindle
  int jaws = -1;                   ///< axis along which the jaws close; of an angle plate its back; -1: none
  int back = -1;                   ///< direction that lies against the angle plate
  std::vector<std::string> makes;  ///< features, or sides of the outside when an edge is only prepared
  bool raw_seat = false;
  std::array<bool, 3> raw{};  ///< location along that axis is by cast skin and matters for what is made
  /// Two holes that open on the seat of a fixture or angle plate and carry its pins, instead of stops at its sides.
  std::vector<std::string> pins = {};
};
struct Route {
  std::vector<Clamping> clampings;
  std::vector<std::string> pins;     ///< hole feature whose two points (or two features) carry the pallet's pins
  std::vector<std::string> screws;   ///< through holes that carry its screws
  double cost = 0;                   ///< weights, see route.cpp
  std::vector<std::string> because;  ///< what decided, in words
};
/// The wish that clashes where no hole of the part carries a screw of the pallet.
inline constexpr const char* own_screws = "screws through holes of the part";
struct RouteSearch {
  std::vector<Route> best;      ///< cheapest first, differing in their kinds of clamping
  std::vector<Clash> clashes;   ///< when there is none
  std::vector<Clash> left_out;  ///< what the routes do not make, where that was allowed
  int looked_at = 0;
};

/// A hole that may carry a pin.
struct PinHole {
  std::string reference;  ///< "H3@1"
  frame::Vec3 at;
  double diameter = 0, zone = 0;
  double wall = 0;     ///< m, least metal between it and what is beside it
  std::string beside;  ///< what that is: "K1", "outside"
  bool stock = false;  ///< a pin of that diameter is bought, not made
  std::string no;      ///< why it carries none; empty: it may
};
/// All holes that open towards `down`, 5 to 25 mm wide, with why some of them carry no pin: threads, thin walls.
std::vector<PinHole> pin_holes(const Scene& scene, const plan::Plan& plan, int down);
/// Two holes named by a person, "H3@1, H3@2", in their order; empty when it is not two.
std::vector<std::string> two_holes(const std::string& said);

/// Where an upright line meets the part, rising; once where two triangles share an edge.
std::vector<double> metal_along_z(const solid::Mesh& mesh, double x, double y);
/// The outer sides of a part.
std::array<OuterSide, 6> outer_sides(const Scene& scene, const plan::Plan& plan);
/// The same, and where none carries the part the largest flat that a stop reaches: a stop asks for a spot only.
std::array<OuterSide, 6> stop_sides(const Scene& scene, const plan::Plan& plan);
/// The side that a stop touches along an axis: a cut one first, then one at the box; -1: none.
int stop_side(const std::array<OuterSide, 6>& sides, const std::function<bool(int)>& cut, int axis);
/// The directions from which a feature can be cut; empty: from none of six.
std::vector<int> access(const Scene& scene, const plan::Plan& plan, const plan::Feature& f);
/// Searches all sequences of at most six clampings. `leave_out`: what is reached only from where the part has no flat
/// to sit on is left to another set-up, and said.
RouteSearch search_routes(const Scene& scene, const plan::Plan& plan, int most, bool leave_out = false);

}  // namespace fettle::begin
