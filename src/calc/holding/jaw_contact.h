#pragma once
// Contacts that can push but not pull: the exact answer of a small convex problem, verified.
#include <cstddef>
#include <optional>
#include <vector>

namespace fettle::holding {

/// Forces F >= 0 that make 1/2 F'HF - F'g least under EF = b. H: flexibility of what lies between (n x n, row by row,
/// symmetric, positive definite); g: how far each contact would overlap, m; E: m rows of n, one for each motion of the
/// pressing body; b: what those motions must carry.
struct ContactProblem {
  std::size_t n = 0, rows = 0;
  std::vector<double> flexibility;  ///< m/N
  std::vector<double> overlap;      ///< m
  std::vector<double> arms;         ///< E
  std::vector<double> load;         ///< b
};
struct ContactAnswer {
  std::vector<double> force;   ///< N
  std::vector<double> motion;  ///< of the pressing body: multipliers of EF = b
  std::vector<double> gap;     ///< m, of each contact that is open
  double residual = 0;         ///< largest violation of balance, of closing and of sign, relative
};
/// Nothing when no pushing forces balance the load (the body tips or leaves), or when the set of closed contacts does
/// not settle. What is returned meets the conditions of Karush, Kuhn and Tucker to 1e-8, which for this convex problem
/// are sufficient. `closed`: the set to begin with, and the one found; only speed depends on it.
std::optional<ContactAnswer> solve_contacts(const ContactProblem& p, std::vector<char>* closed = nullptr);

/// Force with every contact closed, whether it pushes or pulls; linear in `overlap` and `load`.
std::optional<ContactAnswer> all_closed(const ContactProblem& p);

}  // namespace fettle::holding
