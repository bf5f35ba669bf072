#pragma once
// Is the part held in one place only? Which freedoms are left, which contacts fight each other.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "calc/locating/contact.h"
#include "maths/linear.h"

namespace fettle::locating {

/// A motion that no contact stops (to first order): slide along `axis`, or turn about `axis` through `point`, or both
/// at once when `pitch` (m/rad) is not zero.
struct Freedom {
  enum class Type { slide, turn, screw } type = Type::slide;
  Vec3 axis;   ///< unit
  Vec3 point;  ///< m, a point of the axis nearest to the middle of the contacts; turns and screws only
  double pitch = 0;
  std::string words;  ///< "free to slide along X", "free to turn about an axis along Z through (0, 0, 12) mm"
};

/// Contacts that are one too many between them: pushing with these shares against each other moves nothing. They can
/// only all touch when sum share_i * deviation_i = 0.
struct Fight {
  std::vector<std::size_t> contacts;  ///< indices into the contacts given
  std::vector<double> share;          ///< same order; the largest in size is 1
  bool rocks = false;  ///< all one-sided: the part rocks, one of them stays open; else it is forced or does not go on
  std::string words;
};

struct Determinacy {
  std::size_t rank = 0;       ///< freedoms stopped, 0..6
  bool determinate = false;   ///< exactly one place and nothing fought over
  std::vector<Freedom> left;  ///< 6 - rank of them
  std::vector<Fight> fights;  ///< contacts - rank of them
  double condition = 0;       ///< largest over smallest counted singular value, lengths over the contacts' own spread
  std::vector<double> singular;    ///< the six (or fewer) singular values, falling
  std::vector<std::string> words;  ///< every freedom and fight in a sentence
  std::string caution;             ///< condition above 100: says that small errors grow
};

/// Rows n_i . (t + w x p_i) = delta_i of every contact: columns t (3), w (3); SI. n is made unit first.
maths::Matrix contact_jacobian(const std::vector<Contact>& contacts);

/// Answers for contacts kept touching by the clamps. Problems: no contact, a direction of length zero, a number that is
/// not finite. (Asada & By 1985: the Jacobian's rank decides.)
Outcome<Determinacy> determinacy(const std::vector<Contact>& contacts);

/// Does a force press the part on every contact? Forces on the contacts that balance `force` at `at` without friction,
/// for exactly six determinate contacts; a negative one-sided force means that contact opens.
struct Seating {
  std::vector<double> force;       ///< N per contact, positive pushes
  std::vector<std::size_t> opens;  ///< one-sided contacts that would have to pull
  bool pressed = false;            ///< none opens
};
Outcome<Seating> seating(const std::vector<Contact>& contacts, Vec3 force, Vec3 at);

}  // namespace fettle::locating
