#pragma once
// Which feature of the plan each face of a model belongs to. Part frame, m.
#include <vector>

#include "plan/plan.h"
#include "solid/solid.h"

namespace fettle::serve {

/// The feature each face of the model is a surface of, in the order of model.faces, when the model is moved by `by`; -1
/// where none lies there. Features that a later cut replaces are passed over.
std::vector<int> features_of_faces(const plan::Plan& plan, const solid::Model& model, frame::Vec3 by);

/// A model as it is drawn, with what is found only once for all sides of it. Null model: there is none.
struct Matched {
  const solid::Model* model = nullptr;
  frame::Vec3 by;             ///< how far it is moved to stand where the plan has it
  std::vector<int> features;  ///< of its faces: place in the plan, -1 for none
};
/// Where more of the model's surface is the plan's: as it stands, or moved to where the plan's block does.
Matched matched(const plan::Plan& plan, const solid::Model& model);

}  // namespace fettle::serve
