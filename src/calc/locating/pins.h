#pragma once
// A round pin and a relieved pin in two round holes, exactly: one pair with known sizes. The geometry stands in
// maths/pin_pair.h, since the tolerance ledger draws seats from it too. Limits, spreads and temperatures are pin_fit.h.
#include "maths/pin_pair.h"

namespace fettle::locating {

using maths::fits, maths::in_pair_frame, maths::land_float, maths::land_float_textbook, maths::largest_land,
    maths::largest_turn, maths::naive_error, maths::PinPair, maths::play_s, maths::point_region, maths::PointError,
    maths::pushed, maths::Seat, maths::Seats, maths::shift_at, maths::spare, maths::turned_to_pair_frame,
    maths::widest_land, maths::worst_along, maths::worst_distance;

}  // namespace fettle::locating
