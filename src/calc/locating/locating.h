#pragma once
// Locating: everything this folder answers, by question. Include this one, or only the header of one question.
//
//   question                                              call                                        header
//   held in one place? what is free, what fights?          determinacy(contacts)                       determinacy.h
//   does this clamp press it on all six contacts?          seating(contacts, force, at)                determinacy.h
//   raw part on more than three rests: does it rock?       rock(inputs), gap_spread(four, s)           rock.h
//   contacts off by this: where is each feature?           pose(inputs), shift_per_deviation(c, p)     pose.h
//   round + relieved pin, one pair of known sizes          spare, worst_distance, point_region, Seats  pins.h
//   round + relieved pin by limits and temperatures        pin_fit(inputs), least_spare, share_not_on  pin_fit.h
//   how does it come off?                                  lift_off(inputs)                            lift_off.h
//   which ways round does it go on, does it matter?        loading(inputs)                             loading.h
//   pallet swapped: how well does a point come back?       swap_repeatability(inputs)                  swap.h
//   growth of plate against part, bow of a plate           span_growth, length_at_20, bow              growth.h
//   holes for screws, position with bonus                  floating_fastener, fixed_fastener, ...      fasteners.h
//
// All in metres, radians, newtons, kelvin; plain structs in, plain structs or an Outcome out; nothing random inside:
// the one function that draws (Seats::anywhere) is given its numbers.
#include "calc/locating/contact.h"
#include "calc/locating/determinacy.h"
#include "calc/locating/fasteners.h"
#include "calc/locating/growth.h"
#include "calc/locating/lift_off.h"
#include "calc/locating/loading.h"
#include "calc/locating/pin_fit.h"
#include "calc/locating/pins.h"
#include "calc/locating/pose.h"
#include "calc/locating/rock.h"
#include "calc/locating/swap.h"
