#include "calc/bore/surface_plate.h"

#include <gtest/gtest.h>

#include <limits>

#include "calc/bore/reckoners.h"
#include "published.h"

namespace fettle::bore {
namespace {

using test::How;
using test::published;

TEST(SurfacePlate, FederalSpecification) {
  const char* const source =
      "US Federal Specification GGG-P-463c: grade AA = (40 + D^2/25) millionths of an inch, A twice, B four times";
  const auto flat = [](double length_in, double width_in, SurfacePlate::Grade grade) {
    return plate_flatness({length_in * 0.0254, width_in * 0.0254, grade}).value() / 25.4e-9;
  };
  published("bore", "surface plate 24 x 36 in, AA, millionths of an inch", source, How::computed, 114.88,
            flat(36, 24, SurfacePlate::Grade::laboratory), 1e-9);
  published("bore", "surface plate 24 x 36 in, A", source, How::computed, 229.76,
            flat(36, 24, SurfacePlate::Grade::inspection), 1e-9);
  published("bore", "surface plate 24 x 36 in, B", source, How::computed, 459.52,
            flat(24, 36, SurfacePlate::Grade::workshop), 1e-9);
}

TEST(SurfacePlate, RefusesWhatIsNoPlate) {
  EXPECT_FALSE(plate_flatness({0, 0.5}).ok());
  EXPECT_FALSE(plate_flatness({0.5, -0.1}).ok());
  EXPECT_FALSE(plate_flatness({5.1, 0.5}).ok());
  EXPECT_FALSE(plate_flatness({std::numeric_limits<double>::quiet_NaN(), 0.5}).ok());
}

}  // namespace
}  // namespace fettle::bore
