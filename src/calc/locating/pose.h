#pragma once
// Where the part ends up when its contacts are not where they should be, and what that does to its features.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "calc/locating/contact.h"
#include "maths/linear.h"

namespace fettle::locating {

/// How far a contact may be off along its own direction n.
struct Deviation {
  double mean = 0;  ///< m, known (a worn rest, a shim)
  double most = 0;  ///< m, either way, for the worst case
  double s = 0;     ///< m, standard deviation, for the statistical sum
};
struct Feature {
  std::string name;
  Vec3 p;  ///< m, same frame as the contacts
  Vec3 n;  ///< direction that matters; zero length: all three and the distance
};

struct PoseInputs {
  std::vector<Contact> contacts;      ///< exactly determinate (six)
  std::vector<Deviation> deviations;  ///< one per contact
  std::vector<Feature> features;
};
/// What one contact does to one feature.
struct Contributor {
  std::size_t contact = 0;
  Vec3 per_unit;     ///< m of the feature's shift per m of deviation
  double most = 0;   ///< m, along the feature's n (or in distance)
  double share = 0;  ///< of the variance along n (or of the three together), 0..1
};
struct FeatureError {
  std::string name;
  Vec3 mean;   ///< m, from the known deviations
  Vec3 worst;  ///< m either way, every contact at its worst, per axis
  Vec3 s;      ///< m, one standard deviation per axis (root of the sum of squares)
  double along_mean = 0, along_worst = 0, along_s = 0;  ///< the same along n; 0 when n has no length
  double worst_distance = 0;              ///< m, largest length of the shift's varying part over all signs
  std::vector<Contributor> contributors;  ///< largest variance first, then largest worst
};
struct PoseResult {
  Vec3 t, w;  ///< m, rad: small pose of the part from the known deviations, about the frame's origin
  std::vector<FeatureError> features;
};

/// Small pose from deviations along the contact directions: n . (t + w x p) = delta for all (Asada & By 1985; Cai, Hu &
/// Yuan 1997). Problems: not exactly determinate (says what is free or fought over), wrong number of deviations, a
/// number that is not finite, a negative spread.
Outcome<PoseResult> pose(const PoseInputs& inputs);

/// 3 x contacts: shift of point p per deviation of each contact. For sums over the whole route.
Outcome<maths::Matrix> shift_per_deviation(const std::vector<Contact>& contacts, Vec3 p);
/// 6 x contacts: (t, w) per deviation of each contact.
Outcome<maths::Matrix> pose_per_deviation(const std::vector<Contact>& contacts);

}  // namespace fettle::locating
