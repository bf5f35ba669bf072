#pragma once
// What stands on a pallet seen from above: where a nest puts things, and the marks of pins and screws.
#include "output/drawings/kit.h"

namespace fettle::drawings {

constexpr double smallest_pin = 1.8;  // mm on paper

Point in_plate(const Nest& nest, Point p);
Shape in_plate(const Nest& nest, Shape shape);
/// The nest's pattern; null when it names none that there is.
const NestPattern* pattern_of(const PalletView& view, const Nest& nest);
bool drawable(const Shape& shape);

void round_pin(Pen& pen, Point at, double diameter);
/// A round pin ground away on both sides, so that two lands stay across the direction in which it gives way.
void relieved_pin(Pen& pen, Point at, double diameter, double land, double free_on_paper);
void screw(Pen& pen, Point at, double diameter);
/// The pins of a nest at their places, none smaller on paper than it can be seen.
void pins(Pen& pen, const Nest& nest, const NestPattern& pattern, const Scale& scale);
void screws(Pen& pen, const Nest& nest, const NestPattern& pattern, const Scale& scale);

}  // namespace fettle::drawings
