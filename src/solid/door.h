#pragma once
// The door to the geometry kernel. All kernel work runs in a child of this program (the same executable, started with a
// hidden first argument) under limits of memory, processor time and wall clock: a crash, a hang or a flood of memory
// there becomes one problem here.
#include <string>

#include "base/outcome.h"

namespace fettle::solid {

/// First thing in every main() whose program reads or makes solids:
///   if (int code = fettle::solid::maybe_kernel_child(argc, argv); code >= 0) return code;
/// Returns -1 in an ordinary run. Without this call read_step and its like answer with a problem of our own.
int maybe_kernel_child(int argc, char** argv);

struct Limits {
  double cpu_seconds = 30;
  double wall_seconds = 60;
  double memory_bytes = 1073741824.0;
};

/// Runs one job ("read", "demo", ...) in a child on `request` bytes and gives its answer bytes. `file` names the
/// person's file in problems.
Outcome<std::string> run_in_child(const std::string& job, const std::string& request, const std::string& file,
                                  const Limits& limits);

}  // namespace fettle::solid
