#pragma once
// From errors of a casting, through the rests of every operation, to the stock on every face: all linear, so worked out
// once. Frame: the part's (nominal), m and rad. A casting lies in operation k moved by u_k(p) = t_k + w_k x p from
// where the program believes it; a contact on a surface with deviation d along its outward normal n gives n.u_k(p) + d
// = 0. Small-displacement contact Jacobian as in Asada & By 1985; Cai, Hu & Yuan 1997.
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::casting {

using frame::Vec3;

/// Bodies of the mould that can stand differently: 0 drag (lower half), 1 cope (upper half), 2, 3, ... cores.
constexpr int drag = 0, cope = 1;
constexpr int core(int k) { return 2 + k; }

/// A surface as cast. A side wall that both halves of the mould form has `across_parting`: its points above the parting
/// height belong to the cope, the others to the drag.
struct RawSurface {
  std::string id;
  int body = drag;
  bool across_parting = false;
};

/// How the surface moves per unit of an error. c = centre, a = direction (unit), l = along (unit).
enum class Shape {
  shift,    ///< moves by a
  turn,     ///< moves by a x (p - c)
  stretch,  ///< moves by a ((p - c).a) / length: the size `length` along a grows by 1
  scale,    ///< moves by p - c: every size grows by its own length
  swell,    ///< grows by 1 along the outward normal (metal added)
  bend,     ///< moves by a (2 (p - c).l / length)^2: the ends of `length` rise by 1 above the middle
  twist,    ///< moves by a (2 (p - c).l / length)(2 (p - c).(a x l) / across): two opposite corners rise by 1, two sink
  bump      ///< grows by 1 along the outward normal within `radius` of c: gate stub, flash
};

/// One independent error: how large it is and how it moves the surfaces. A one-sided error (stub, flash) is uniform or
/// half normal.
struct Mode {
  std::string name;  ///< trade words: "core shift X"
  Shape shape = Shape::shift;
  std::vector<int> bodies;            ///< bodies it moves; empty: all
  std::vector<std::string> surfaces;  ///< of these only; empty: every surface of the bodies
  Vec3 direction{1, 0, 0};
  Vec3 centre;
  Vec3 along{1, 0, 0};
  double length = 0;  ///< m (stretch, bend, twist)
  double across = 0;  ///< m (twist)
  double radius = 0;  ///< m (bump)
  double scale = 1;   ///< factor on all of it: a core 1 larger in diameter swells its bore by -1/2
  enum class Family { normal, uniform, half_normal } family = Family::normal;
  double mean = 0;  ///< normal: centre; half_normal: adds to |z| s. In the mode's own unit (m; turn: rad; scale: 1)
  double s = 0;     ///< normal, half_normal
  double low = 0, high = 0;  ///< uniform
};

/// Errors that go together (learned from a sample): covariance of these modes, row-major; their own s is not used.
struct Joint {
  std::vector<int> modes;
  std::vector<double> covariance;
};

struct Casting {
  std::vector<RawSurface> surfaces;
  std::vector<Mode> modes;
  std::vector<Joint> joints;
  double parting_height = 0;  ///< z, m
  double texture_s = 0;       ///< local roughness of a raw surface, independent from point to point, m
};

/// Where a locator or probe meets a surface: `surface` is a raw surface or a face cut in an earlier operation.
struct Touch {
  std::string surface;
  Vec3 p;  ///< nominal place
  Vec3 n;  ///< outward normal of the casting there (unit)
  double weight = 1;
};
/// One thing that holds one freedom: the weighted sum over its touches of (n.u + d) is zero. One touch: a rest or stop.
/// Two opposite touches of weight +1/2 and -1/2: a centring vise or a probe that takes the middle. Weights 1/m: a mean.
struct Contact {
  std::string id;
  std::vector<Touch> touches;
  double offset = 0;  ///< locator stands this far into the casting, m
  double s = 0;       ///< repeatability of that, m
};

struct Operation {
  std::string id;
  std::vector<Contact> contacts;  ///< six freedoms must be held; more than six are fitted by least squares
  /// How far the program may be moved for one casting: x, y, z (m), turn about x, y, z through the origin (rad).
  std::array<double, 6> shift_low{}, shift_high{};
};

/// A point of a face to be cut: q on the finished face, n its outward normal, p on the surface that is there before.
struct FacePoint {
  Vec3 q, n, p;
};
/// One cut: `from` (a raw surface or an earlier face) is removed down to this face in operation `operation`. A datum
/// made in the solid (a drilled hole that later carries a pin) has an empty `from` and no points: contacts may touch
/// it, its stock is not judged.
struct Face {
  std::string id;
  std::string from;
  int operation = 0;
  std::vector<FacePoint> points;
  double must_leave = 0;  ///< least depth this cut must have everywhere: under the skin on a raw surface, m
  double weight = 1;      ///< importance when the best shift is sought: reserve is divided by it
  double size_s = 0;      ///< scatter of the cut itself along n, m
};

struct Route {
  std::vector<Operation> operations;  ///< in order
  std::vector<Face> faces;
};

/// An independent error of the model as a whole: the casting's modes first, then roughness under the raw touches,
/// locators and cuts.
struct Parameter {
  std::string name;
  Mode::Family family = Mode::Family::normal;
  double mean = 0, s = 0, low = 0, high = 0;
};

/// A raw place that a locator or probe touches.
struct RawTouch {
  int operation = 0;
  int contact = 0;
  std::string surface;
  Vec3 p, n;
};

/// Everything linear: stock = nominal + by_parameter . parameters + by_shift . program shifts, for each sample point.
struct Model {
  std::vector<Face> faces;  ///< as given
  std::vector<std::string> operation_ids;
  std::vector<std::array<double, 6>> shift_low, shift_high;  ///< per operation
  std::vector<Parameter> parameters;
  std::vector<double> factor;  ///< modes x modes: parameters of joints = mean + factor . standard normals; empty: none
  int mode_count = 0;          ///< parameters that are the casting's own modes
  int point_count = 0;
  std::vector<int> first_point;      ///< per face, and one past the end
  std::vector<int> face_of;          ///< per point
  std::vector<int> raw_point;        ///< per point: 1 when the surface before is as cast
  std::vector<double> nominal;       ///< per point, m
  std::vector<double> by_parameter;  ///< points x parameters
  std::vector<double> by_shift;      ///< points x 6 operations
  std::vector<double> by_touch;      ///< points x raw touches: effect of a deviation under a touch (along its normal)
  std::vector<double> raw_by_mode;   ///< points x modes: deviation of the raw surface itself, in the casting's frame
  std::vector<RawTouch> touches;
  std::vector<double> pose_by_parameter;  ///< operations x 6 x parameters: t (m), w (rad)
  std::vector<double> held;  ///< per operation: weakest held freedom over the strongest, 0..1; small: the part rocks
  double texture_s = 0;
};

/// Works the route out. Problems name the operation, contact or face: an unknown or later surface, a freedom that
/// nothing holds ("turn about Z"), normals that are no unit vectors, numbers that are not finite, limits the wrong way
/// round.
Outcome<Model> build(const Casting& casting, const Route& route);

/// Deviation along n that one unit of the mode gives at p of a surface on this body; 0 when the mode does not move it.
double mode_field(const Mode& mode, const std::string& surface, int body, Vec3 p, Vec3 n);

/// Stock at every sample point for given parameters (all of them, or only the casting's modes, the others 0) and
/// program shifts (6 per operation; empty: none).
std::vector<double> stock(const Model& model, const std::vector<double>& parameters,
                          const std::vector<double>& shifts = {});

/// The same for a casting whose surface was measured: deviation along n under every raw touch and at every sample point
/// (points cut from an earlier face: not used). Locators and cuts nominal.
std::vector<double> stock_of_measured(const Model& model, const std::vector<double>& touch_deviation,
                                      const std::vector<double>& point_deviation,
                                      const std::vector<double>& shifts = {});

/// Deviation of the raw surface along n at every sample point for given modes (0 on faces cut before).
std::vector<double> raw_deviation(const Model& model, const std::vector<double>& parameters);

/// Least and most stock of one face and where.
struct FaceStock {
  std::string face;
  double least = 0, most = 0;           ///< m
  int least_point = 0, most_point = 0;  ///< index into the face's points
  Vec3 least_at, most_at;               ///< q there
  double must_leave = 0;
  double reserve = 0;  ///< least - must_leave, m; negative: does not clean up
};
std::vector<FaceStock> by_face(const Model& model, const std::vector<double>& stock);

/// Index into the result of by_face() of the face with the least reserve over weight.
int tightest(const Model& model, const std::vector<FaceStock>& faces);

}  // namespace fettle::casting
