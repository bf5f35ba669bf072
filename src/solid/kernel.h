#pragma once
// Inside the child only: what the kernel's own sources offer to each other, without a kernel type in sight.
#include <cstdint>
#include <memory>
#include <string>

#include "base/outcome.h"
#include "solid/graph.h"
#include "solid/raw.h"
#include "solid/solid.h"

namespace fettle::solid {

/// A solid held by the kernel, with the STEP number of each face. The pointers hide kernel types.
struct Loaded {
  std::shared_ptr<void> solid;     ///< the kernel's shape
  std::shared_ptr<void> face_ids;  ///< the kernel's map from face to STEP number
  double scale = 1e-3;             ///< metres per kernel length
  std::string unit;
  double stated_volume = 0;  ///< m3
};

/// Text to solid, with the guards that need the kernel: entity check before transfer, exactly one solid, valid, closed.
Outcome<Loaded> load_step(const std::string& text, const std::string& file, const std::string& unit_if_none);

/// Volume, area, centroid, inertia and box into `model`; problems when the volume is not positive or not as stated.
Outcome<bool> weigh(const Loaded& loaded, const std::string& file, Model& model);

/// Faces, edges and who touches whom, as plain numbers.
Graph graph_of(const Loaded& loaded, const ReadOptions& options);

Mesh mesh_of(const Loaded& loaded, double chord, double angle);
Outcome<Section> section_of(const Loaded& loaded, const Cut& cut, double chord);

/// The demo's models, and a re-export of a loaded solid, as STEP text.
Outcome<std::string> build_part();
Outcome<std::string> build_casting();
Outcome<std::string> build_sample(const std::string& which);
Outcome<std::string> build_again(const Loaded& loaded, std::uint64_t shuffle, bool splines);
/// The raw casting of a part, as raw_model() promises it.
Outcome<RawModel> build_raw(const Loaded& loaded, const RawWish& wish);
/// A solid in millimetres as STEP text; `inch`: the text is in inches.
Outcome<std::string> write_again(const Loaded& loaded, const std::string& product, bool inch);

/// Runs a job in the child: the answer as bytes ('A' + payload, or 'P' + problems).
std::string kernel_job(const std::string& job, const std::string& request);

}  // namespace fettle::solid
