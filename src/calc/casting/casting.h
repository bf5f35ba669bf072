#pragma once
// Castings: does it become the part? Everything of this science, by question.
//
// - grades.h: raw_size, allowance_left, draft_offset, radial_stock: one dimension by grade, both ways.
// - model.h: Casting (surfaces, errors) and Route (operations, contacts, faces) go through build() to a Model; then
//   stock, by_face, tightest.
// - features.h: plane_points, round_points; the usual errors (core_shift, closure, ...); rest, centred.
// - virtual_castings.h: virtual_castings (share that fails, quantiles, the worst by number), one_casting.
// - best_pose.h: best_shift (program shift through the route), best_pose (free pose), say_clash (the proof in words).
// - tape.h: read_tape, a tape-and-caliper table as text.
// - measured.h: measured_sample, learned, judge_casting; face by face: read_face_table, deviations_of.
// - scan.h: read_scan, register_scan, deviations_of_scan: points of PLY or STL.
// - sample.h: judge_sample, what a few measured castings prove about the lot.
// - reckoners.h: the same questions one at a time at the bench.
//
// Frame: the part's, m, rad. Stock is metal above the finished face along its outward normal.
// Reserve = stock - must_leave.
#include "calc/casting/best_pose.h"
#include "calc/casting/features.h"
#include "calc/casting/grades.h"
#include "calc/casting/measured.h"
#include "calc/casting/model.h"
#include "calc/casting/sample.h"
#include "calc/casting/scan.h"
#include "calc/casting/tape.h"
#include "calc/casting/virtual_castings.h"
