#include "maths/modal.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::maths {
namespace {

// One mass on one spring: x = F / (k - m w^2 + i c w), any vibration text.
TEST(Modal, OneMassOnASpringIsTheTextbookResponse) {
  const double m = 3, k = 2.5e7, zeta = 0.03, omega = std::sqrt(k / m), c = 2 * zeta * std::sqrt(k * m);
  const PointResponse p{{{omega, zeta, {0, 1 / std::sqrt(m), 0}}}, {}};
  EXPECT_NEAR(static_compliance(p)[4], 1 / k, 1e-12 / k);
  EXPECT_NEAR(compliance_along(p, {0, 1, 0}), 1 / k, 1e-12 / k);
  EXPECT_EQ(compliance_along(p, {1, 0, 0}), 0);
  for (double w : {0.2 * omega, omega, 1.7 * omega}) {
    const std::complex<double> x = 1.0 / std::complex<double>(k - m * w * w, c * w);
    EXPECT_NEAR(std::abs(response(p, w)[4] - x), 0, 1e-12 * std::abs(x));
    EXPECT_EQ(response(p, w)[0], std::complex<double>(0));
  }
}

TEST(Modal, WhatTheModesLeaveOutIsAddedAtEveryFrequency) {
  PointResponse p{{{1000, 0.02, {0.3, 0.1, -0.2}}}, {}};
  const Response3 bare = response(p, 700);
  p.residual = {1e-9, 0, 0, 0, 2e-9, 0, 0, 0, 3e-9};
  const Response3 with = response(p, 700);
  EXPECT_NEAR(with[0].real() - bare[0].real(), 1e-9, 1e-20);
  EXPECT_NEAR(with[8].real() - bare[8].real(), 3e-9, 1e-20);
  EXPECT_EQ(with[1], bare[1]);
  EXPECT_EQ(with[1], with[3]);
}

}  // namespace
}  // namespace fettle::maths
