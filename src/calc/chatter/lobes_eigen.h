#pragma once
// Eigenvalues of small complex matrices in closed form, and how much each part of a sum adds to one of them.
#include <array>
#include <complex>

#include "maths/modal.h"

namespace fettle::chatter {

using Three = std::array<std::complex<double>, 3>;

/// Product of 3 x 3 matrices, row by row.
maths::Response3 times(const maths::Response3& a, const maths::Response3& b);

/// Eigenvalues of a 3 x 3 matrix; with `flat` those of its upper left 2 x 2 block, and 0.
Three eigenvalues(const maths::Response3& m, bool flat);

/// `now` in the order that lies nearest to `before`, the first `count`.
void follow(const Three& before, Three& now, int count);

/// l^T part r / (l^T r), with l and r the left and right vectors of `whole` at its simple eigenvalue `value`: what a
/// part of the matrix adds to the eigenvalue. Zero where the vectors are not found.
std::complex<double> added_by(const maths::Response3& part, const maths::Response3& whole, std::complex<double> value);

}  // namespace fettle::chatter
