#pragma once
// Lugs cast on the outside for the screws of a pallet: where they may stand, what they ask of casting and route.
#include <string>
#include <vector>

#include "begin/propose/propose.h"
#include "maths/polygon.h"

namespace fettle::begin {

/// The holes in the lugs, as a feature.
inline constexpr const char* lug_holes = "N2";
/// The runner-up of holes made in the part, in words.
inline constexpr const char* lug_words = "lugs cast on for it, and cut off at the end";
/// The tops of the lugs, as a feature of that name.
inline constexpr const char* lug_name = "lugs cast on for the pallet's screws";
bool is_lug(const plan::Feature& f);
/// Somebody asked for the pallet's screws in lugs.
bool lugs_asked(const Scene& scene);

/// Raw metal of a lug beyond the part's wall, hole not yet drilled, m3. Draft and fillets are left out.
double volume_of(const Lug& lug);
/// Of all lugs of a draft, with the raw height that is ordered, m3.
double lugs_volume(const Draft& draft);
/// Seen along Z, anticlockwise; on a round side as far in as its corners meet the part.
maths::Polygon outline_of(const Lug& lug);
/// Middle of the two pads that carry it, one on either side of its hole along the wall; their diameter, m.
std::vector<frame::Vec3> pads_under(const Lug& lug, double hole, double pad);

/// Two lugs opposite each other for a written route, and the operation that drills them; or why there are none.
struct LugPlaces {
  std::vector<Lug> lugs;
  double hole = 0, screw = 0;  ///< m: diameters of the hole and of its thread
  std::string drilled_in, seat_in;
  std::string no;
};
/// They stand on sides that no operation cuts, clear of jaws, stops and rests, below what is cut on the pallet.
LugPlaces lug_places(const Scene& scene, const Draft& route);
/// Casts them on: features, raw sizes, mass, screws, the operation that saws them off; a clash where none can stand.
void cast_lugs(const Scene& scene, Draft& route);
/// Tells every choice of this draft that names lugs as a runner-up whether an answer takes them.
void say_lugs(const Scene& scene, Draft& draft);

}  // namespace fettle::begin
