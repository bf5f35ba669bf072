#pragma once
// Roughness that feed and edge leave by geometry: the best that the cut can do, before tearing and vibration.
namespace fettle::cutting {

/// Ra from feed per turn on a corner radius, m: f^2 / (32 r), the textbook form (the exact parabola gives 0.0321
/// f^2/r). Refused by NaN when the feed is beyond the corner (f > 2 r).
double feed_roughness(double feed, double corner_radius);
/// Ra of the flank of an end mill: scallops of height f^2 / (4 D), Ra a quarter of it; `feed` is per tooth when all
/// teeth cut alike, per turn when the one that runs out leaves the surface.
double flank_roughness(double feed, double diameter);
/// Ra that the least chip h of an edge adds: a quarter of the height h/2 (1 + h r / f^2), after Brammertz (from
/// memory).
double least_chip_roughness(double feed, double corner_radius, double least_chip);

}  // namespace fettle::cutting
