#pragma once
// The door to the library of distributions; statistics.h is what others include. NaN for arguments outside the domain.
namespace fettle::maths {
double noncentral_t_quantile(double p, double dof, double delta);
}  // namespace fettle::maths
