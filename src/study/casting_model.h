#pragma once
// The plan's casting and route as the casting science sees them.
#include <map>
#include <string>
#include <vector>

#include "calc/casting/features.h"
#include "calc/casting/model.h"
#include "study/internal.h"

namespace fettle::study {

/// Numbers that the bands move; filled from the plan, changed by judge().
struct CastingNumbers {
  double skin = 0, scale = 0, mismatch = 0, warp = 0, texture = 0, draft = 0;
  std::vector<double> core_x, core_y, core_z;  ///< per core
};
CastingNumbers numbers_of(const plan::Plan& plan);
/// One standard deviation of a size of the casting, m: as said, a sixth of its tolerance, or by its grade; NaN when
/// nothing says it.
double spread_of(const plan::Plan& plan, const plan::CastSize& size);
/// Height of the parting line: as given, else the middle of the part's height.
double parting_of(const plan::Plan& plan);

/// One cut that the route makes on a surface that was cast, or that a later locator sits on.
struct CutFace {
  std::string id;            ///< reference as the plan says it
  std::string final;         ///< the final surface on the same metal
  bool skin = false;         ///< first cut on cast skin
  bool from_models = false;  ///< sample points from both models, not from the plain feature
  bool judged = false;       ///< clean-up is a question (not cut from the solid)
  int operation = 0;
};

struct CastingModel {
  casting::Casting casting;
  casting::Route route;
  std::vector<CutFace> faces;        ///< same order as route.faces
  std::map<std::string, int> mode;   ///< mode index by what it is: "size length", "core 0 x", "warp x", ...
  std::vector<std::string> missing;  ///< what must be given before anything can be built
  std::map<std::string, std::string> open_faces;  ///< surface -> what to give, for faces whose raw place is not known
};
/// `models` (may be null): sample points come from them instead of from plain features.
CastingModel casting_model(const plan::Plan& plan, const CastingNumbers& numbers, const Models* models = nullptr);

/// Measured values of one casting as deviations of the modes, from a map "size id" / "core x" / "core y" / "warp" -> m.
std::vector<double> parameters_of(const CastingModel& m, const plan::Plan& plan, std::size_t count,
                                  const std::map<std::string, double>& measured);

/// The key a measured column is known by ("size length", "core 0 x", "warp x") and its nominal value, m.
struct MeasuredKey {
  std::string key;
  double nominal = 0;
  double factor = 1;
};

}  // namespace fettle::study
