#pragma once
// The shift (and turn) of one casting that makes its least reserve largest, or the proof that none is enough.
// Maximise s with n.(p + t + w x p - q) >= must_leave + s weight for every point, within a box: a linear program in the
// pose and s, linearised again at the pose found. Its prices are the proof: weights on a few points such that whatever
// one gains another loses.
#include <array>
#include <string>
#include <vector>

#include "calc/casting/model.h"

namespace fettle::casting {

enum class PoseStatus {
  not_run,
  found,    ///< checked answer
  refused,  ///< bad input, see `why`
  failed    ///< the program's answer did not stand its check
};

/// A face (or a point of it) that stops the reserve from growing. Shares add up to 1: they are the proof.
struct Clash {
  std::string face;
  int point = 0;     ///< index into the inputs' points, or into the face's points for a route: the one with most share
  double share = 0;  ///< of all its points together
  Vec3 at, n;        ///< q and normal of that point
};
/// A limit of the box that is in the way. Moving it by d gains gain * d (m or rad).
struct BoxStop {
  int operation = 0;  ///< 0 for best_pose()
  int freedom = 0;    ///< 0..2 shift x y z, 3..5 turn x y z
  bool upper = false;
  double limit = 0;
  double gain = 0;
};

struct PosePoint {
  Vec3 p;                 ///< raw point as measured or computed
  Vec3 q;                 ///< point of the finished face
  Vec3 n;                 ///< its outward normal, unit
  double must_leave = 0;  ///< m
  double weight = 1;
  int face = 0;  ///< index into PoseInputs::faces
};
struct PoseInputs {
  std::vector<std::string> faces;
  std::vector<PosePoint> points;
  /// How the casting may be moved: shift x, y, z (m), turn as a rotation vector about the origin (rad). Finite.
  std::array<double, 6> low{}, high{};
  int linearise_again = 4;  ///< most repetitions; 0: the linear answer only
};
struct BestPose {
  PoseStatus status = PoseStatus::not_run;
  std::string why;
  Vec3 t, w;                ///< the casting moves by w, then by t; the program moves the other way
  double least_before = 0;  ///< least (stock - must_leave) / weight as it lies, m
  int before_point = 0;
  double least = 0;  ///< the same at the best pose, computed with the exact rotation
  int least_point = 0;
  double linear_least = 0;   ///< answer of the first linear program, from the pose as it lies
  bool clears = false;       ///< least >= 0
  std::vector<Clash> clash;  ///< what stops it, largest share first
  std::vector<BoxStop> stops;
  int steps = 0;  ///< linear programs solved
};
BestPose best_pose(const PoseInputs& in);

/// The best program shift of one casting through the whole route, within the limits of its operations.
struct BestShift {
  PoseStatus status = PoseStatus::not_run;
  std::string why;
  std::vector<double> shifts;  ///< 6 per operation: add to that operation's zero for this casting (m, rad)
  double least_before = 0;     ///< least reserve over weight without shift, m
  double least = 0;            ///< with it
  bool clears = false;
  std::vector<FaceStock> faces;  ///< with it
  int tightest_face = 0;
  std::vector<Clash> clash;
  std::vector<BoxStop> stops;
};
/// `stock` is the casting's stock at every sample point without any shift (stock(), stock_of_measured(),
/// one_casting()).
BestShift best_shift(const Model& model, const std::vector<double>& stock);
/// The same with other limits: `low` and `high` hold 6 numbers per operation.
BestShift best_shift(const Model& model, const std::vector<double>& stock, const std::vector<double>& low,
                     const std::vector<double>& high);

/// "+X edge and bore (where it looks towards -X) cannot both clear; the program limit of X is reached": the proof in
/// words.
std::string say_clash(const std::vector<Clash>& clash, const std::vector<BoxStop>& stops);

}  // namespace fettle::casting
