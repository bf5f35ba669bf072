#pragma once
// The lowest natural modes of K x = lambda M x by block Krylov vectors of (K + shift M)^-1 M, with full
// re-orthogonalisation. No random numbers, one order of sums.
#include <string>
#include <vector>

#include "calc/structure/plate_system.h"

namespace fettle::structure {

/// K with `shift` M of plate and parts, factored, and ready for many right sides.
class Held {
 public:
  Held(const System& system, double shift);
  bool ok() const { return ok_; }
  double shift() const { return shift_; }
  const Band& band() const { return band_; }
  int padded() const { return band_.padded(); }
  /// x := (K + shift M)^-1 x for `count` right sides, a multiple of 4.
  void solve(double* x, int count) const;

 private:
  const System* system_ = nullptr;
  Band band_;
  double shift_ = 0;
  bool ok_ = false;
  std::vector<double> spread_;  ///< band^-1 T, padded rows x `ties_`
  int ties_ = 0, width_ = 0;
  std::vector<double> small_;  ///< (I + shift m T' band^-1 T)^-1 shift m, ties x ties
};

/// y := M x of plate and parts.
void multiply_mass(const System& system, const double* x, double* y, int count);

struct Modes {
  bool ok = false;
  std::string why;
  std::vector<double> lambda;               ///< rising, (rad/s)^2
  std::vector<std::vector<double>> vector;  ///< over the free motions, mass-normalised
  double residual = 0;                      ///< largest |K x - lambda M x| / |lambda M x| (of K + shift M)
  int solved = 0;                           ///< right sides that it took
};
Modes lowest_modes(const System& system, const Held& held, int count);

/// A shift well below the first elastic mode of a plate nothing holds.
double free_shift(const System& system);

}  // namespace fettle::structure
