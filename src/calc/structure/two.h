#pragma once
// Two numbers side by side: what every x86-64 has. g++ and clang know this type, and it rounds as plain doubles do, so
// sums over it are the same everywhere.

namespace fettle::structure {

typedef double Two __attribute__((vector_size(16), aligned(8), may_alias));

inline Two load(const double* p) { return *reinterpret_cast<const Two*>(p); }
inline void store(double* p, Two v) { *reinterpret_cast<Two*>(p) = v; }
inline Two both(double v) { return Two{v, v}; }

}  // namespace fettle::structure
