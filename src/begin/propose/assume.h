#pragma once
// What a proposal has to take for granted before anybody said it: each is said, and each can be said otherwise.
#include "begin/propose/propose.h"

namespace fettle::begin {

/// Where the drawing and the answers call nothing critical: the closest size of a hole is. Changes nothing where one is
/// called so, or where the answer is "none".
void assume_critical(const Scene& scene, Draft& draft);

/// Where no gate is named: one on the raw outside at the parting line, as far as can be from everything that touches
/// there in the route; the foundry is asked for it. Changes nothing where gates are named, where the parting line is
/// not known or no raw side is there.
void ask_for_gate(const Scene& scene, Draft& draft);

/// Castings that were measured may each be shifted a little where the holes for the pins are made. Changes nothing
/// without a table, or where a shift is allowed already.
void allow_shift(const Scene& scene, Draft& draft);

/// A gauge of the shop for every size as close as IT6 that none names: the one that reads closest. None where no gauge
/// says its uncertainty.
void choose_gauges(const Scene& scene, Draft& draft);

}  // namespace fettle::begin
