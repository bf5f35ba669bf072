#pragma once
// A solid part as plain data: measured faces and the features a machinist names. Metres, radians, kilograms.
// No type of the geometry kernel appears here; all kernel work runs in a child process (see door.h).
#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"
#include "solid/mesh.h"

namespace fettle::solid {

struct Box {
  Vec3 lo, hi;
};

enum class Kind { plane, cylinder, cone, torus, sphere, spline };

/// A point on a face with the outward normal (pointing out of the material) and the share of area it stands for.
struct Sample {
  Vec3 point, normal;
  double area = 0;
};

/// One face of the solid. `id` is the number of its ADVANCED_FACE in the STEP text: drawing tolerances join here.
struct Face {
  int id = 0;
  Kind kind = Kind::plane;
  bool concave = false;       ///< curved faces: outward normal points to the axis or tube centre (a bore, a fillet)
  Vec3 point;                 ///< on the plane; on the axis (height of the face's middle); centre of torus or sphere
  Vec3 axis;                  ///< plane: outward normal; cylinder, cone, torus: unit axis; sphere, spline: zero
  double radius = 0;          ///< cylinder, sphere, torus (large); cone: at `point`
  double minor_radius = 0;    ///< torus: radius of the tube
  double semi_angle = 0;      ///< cone: half of the included angle
  double along_lo = 0;        ///< extent along the axis, from `point`
  double along_hi = 0;        ///<
  double area = 0;            ///<
  Vec3 centroid;              ///< of the area
  Box box;                    ///< tight for all kinds
  std::vector<Vec3> outline;  ///< outer boundary, closed, first point not repeated, arcs flattened
  std::vector<Sample> samples;
  std::vector<int> neighbours;  ///< ids of the faces across its edges, sorted
};

/// How one end of a hole looks.
enum class End { open, flat, cone, sphere };
enum class Step { cylinder, cone, annulus, torus, sphere };

/// A stretch of a hole's profile along its axis. A cone that ends in a point has diameter 0 there; an annulus has
/// length 0.
struct Segment {
  Step kind = Step::cylinder;
  double d0 = 0, d1 = 0;    ///< diameters at the start and at the end, in the hole's direction
  double length = 0;        ///< along the axis
  double semi_angle = 0;    ///< cones
  bool full_circle = true;  ///< closed round the whole turn at some height
  std::vector<int> faces;   ///< face ids
};

/// A round hole: coaxial concave faces chained through shared edges. p0 to p1 along `dir`; for a hole with one closed
/// end p0 is the open one.
struct Hole {
  std::string id;
  Vec3 p0, p1, dir;
  End end0 = End::open, end1 = End::open;
  int side_openings = 0;  ///< edges where something else breaks into the wall (a cross hole, a slanted mouth)
  int spline_rims = 0;    ///< rim edges that are circles written as splines; some count them as openings
  std::vector<Segment> profile;
  double diameter =
      0;  ///< of the longest cylinder (of two alike the narrower); without one, of the longest cone at its middle
  double depth = 0;      ///< cylinders, mouth cones and steps, without the drill point
  double tip_angle = 0;  ///< included angle of a closed cone end, else 0
  bool through = false;
  bool stepped = false;       ///< more than one cylinder diameter
  bool counterbored = false;  ///< a wider flat-floored cylinder at an open end
  bool countersunk = false;   ///< a cone of more than 30 deg included that widens to an open end
};

/// A concave cylinder that never closes round: slot ends, fillets, corners of pockets, half bores.
struct Round {
  std::string id;
  Vec3 p0, p1, dir;
  double radius = 0;
  double turn = 0;  ///< largest angle covered at one height
  bool concave = true;
  std::vector<int> faces;
};

/// A full cylinder of material (convex), between p0 and p1.
struct Boss {
  std::string id;
  Vec3 p0, p1, dir;
  double diameter = 0;
  std::vector<int> faces;
};

/// All faces in one plane that look the same way.
struct PlaneFeature {
  std::string id;
  Vec3 normal;        ///< outward
  double offset = 0;  ///< normal . point
  double area = 0;
  Vec3 centroid;
  Box box;
  bool floor = false;  ///< the floor of a pocket, slot or hole
  std::vector<int> faces;
};

/// A flat floor with walls. Closed all round, or open at some sides; a slot has two parallel walls.
struct Pocket {
  std::string id;
  Vec3 centre;                              ///< middle of the floor's rectangle (through slots: middle of the mouth)
  Vec3 up;                                  ///< out of the material, along the walls
  Vec3 along;                               ///< unit, along the length
  double length = 0, width = 0, depth = 0;  ///< of the wall-to-wall rectangle; depth to the highest wall edge
  double corner_radius = 0;                 ///< smallest standing concave round, 0 when sharp
  double floor_radius = 0;                  ///< fillet between floor and wall, 0 when sharp
  int open_sides = 0;                       ///< runs of floor edges without a wall; more than three are no pocket
  bool slot = false;                        ///< two parallel walls with round or open ends
  bool through = false;                     ///< no floor
  std::vector<int> floor;
  std::vector<int> walls;
};

/// A ring groove: in the wall of a bore (inside) or round a shaft.
struct Groove {
  std::string id;
  std::string hole;     ///< id of the hole it is in; empty on a shaft
  Vec3 p0, p1, dir;     ///< on the axis, at the two side walls
  double diameter = 0;  ///< of the groove's floor
  double bore = 0;      ///< of the wall beside it (the smaller side of a bore, the larger of a shaft)
  double width = 0;
  bool inside = true;
  std::vector<int> faces;
};

/// One way to turn (or mirror) the part into itself, about the middle of its box, its centroid or the origin: whichever
/// leaves the fewest breakers.
struct Way {
  std::string name;                   ///< "half turn about Z"
  bool box_fits = false;              ///< the box keeps its size, so the part could be loaded so
  bool same = false;                  ///< every feature meets a like feature
  std::vector<std::string> breakers;  ///< ids of features (or "face #12") without a like one
};

/// A cut by a plane: closed wires with arcs flattened; the largest wire first.
struct Cut {
  Vec3 point, normal;
};
struct Wire {
  std::vector<Vec3> points;  ///< closed, first point not repeated
  double area = 0;           ///< enclosed
};
struct Section {
  Cut cut;
  std::vector<Wire> wires;
};

struct Model {
  std::string unit;                 ///< length unit the file states: "mm", "in", "m", ...
  double volume = 0;                ///< m3
  double area = 0;                  ///< m2
  Vec3 centroid;                    ///< m
  std::array<double, 9> inertia{};  ///< about the centroid per density: m5, row-major
  double mass = 0;                  ///< kg when a density was given, else 0
  double stated_volume = 0;         ///< what the file says, m3; 0 when it says nothing
  Box box;
  std::vector<Face> faces;  ///< sorted by id
  std::vector<PlaneFeature> planes;
  std::vector<Hole> holes;
  std::vector<Round> rounds;
  std::vector<Boss> bosses;
  std::vector<Pocket> pockets;
  std::vector<Groove> grooves;
  std::vector<Way> ways;
  std::vector<Section> sections;  ///< one per cut asked for
  Mesh mesh;                      ///< empty unless asked for
  /// The face with this STEP number, or null.
  const Face* face(int id) const;
};

struct ReadOptions {
  double density = 0;         ///< kg/m3; 0: no mass
  std::string unit_if_none;   ///< "mm", "in" or "m" for a file that states no unit; empty: such a file is refused
  int samples_per_face = 24;  ///< aimed at, at least one
  double chord = 2e-5;        ///< m, how far a flattened arc may leave the true one
  double mesh_chord = 0;      ///< m; 0: no mesh
  double mesh_angle = 0.35;   ///< rad
  std::vector<Cut> cuts;
  double cpu_seconds = 30;
  double wall_seconds = 60;
  double memory_bytes = 1073741824.0;  ///< address space of the child; the largest file tried needs 78 MB resident
};

/// Reads one solid from a STEP file, in a child process with limits. Refused with one clear problem: a file that is not
/// STEP, broken geometry, no solid, more than one solid, an open or self-crossing solid, a volume that is not what the
/// file itself states, a file without a length unit (unless unit_if_none), a child that crashed or ran out of time.
Outcome<Model> read_step(const std::string& path, const ReadOptions& options = {});

/// The same from text already read; `name` is the file's name in problems.
Outcome<Model> read_step_text(const std::string& text, const std::string& name, const ReadOptions& options = {});

std::string_view word(Kind kind);
std::string_view word(End end);
std::string_view word(Step step);

}  // namespace fettle::solid
