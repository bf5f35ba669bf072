#pragma once
// The model as the person wants it to stand: which way is up, where the origin lies.
#include "base/outcome.h"
#include "begin/begin.h"
#include "frame/frame.h"
#include "solid/solid.h"

namespace fettle::begin {

/// Pose of the model's frame in the part frame of the plan. Problems: an unknown direction, an unreadable origin.
Outcome<frame::Pose> pose_of(const solid::Model& model, const Options& options);
/// Every point and direction of the model turned and shifted (samples, faces, features; the mesh and sections are left
/// as they are).
solid::Model posed(const solid::Model& model, const frame::Pose& pose);

}  // namespace fettle::begin
