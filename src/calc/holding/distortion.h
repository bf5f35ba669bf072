#pragma once
// What the clamp bends and lets spring back after the cut.
namespace fettle::holding {

/// Sink of a strip between two pads under a force in its middle, ends held: F s^3 / (192 E I), m.
double strip_sink(double force, double span, double modulus, double width, double thickness);
/// The same with free ends: F s^3 / (48 E I). The truth lies between.
double strip_sink_free(double force, double span, double modulus, double width, double thickness);

/// A bore in a wide body squeezed by an even pressure (Pa): the bore closes along the squeeze by 3 p d/E and opens
/// across by p d/E (Kirsch 1898; plane stress).
struct BoreSqueeze {
  double along = 0, across = 0;  ///< m, change of diameter, closing negative
  double out_of_round = 0;       ///< m, of the radius, peak to valley: what a roundness gauge shows
};
BoreSqueeze squeezed_bore(double pressure, double diameter, double modulus);

/// A thin ring squeezed by two opposite forces (Timoshenko, Strength of Materials): shorter along by 0.1488 F R^3/(E
/// I), longer across by 0.1366 F R^3/(E I); R to the middle of the wall, I of the wall.
BoreSqueeze squeezed_ring(double force, double middle_radius, double wall, double length, double modulus);

}  // namespace fettle::holding
