#include "published.h"
using fettle::test::How;
using fettle::test::published;
static const char* kNothing = "?";
TEST(Weighing, Published) {
  published("weighing", "no source", "", How::read, 9.80665, weight(1), 1e-9);
  published("weighing", "a shrug", "unknown", How::read, 9.80665, weight(1), 1e-9);
  published("weighing", "a constant that says nothing", kNothing, How::read, 9.80665, weight(1), 1e-9);
  published("weighing", "not said how", "Tables of Weights, p. 12", true, 9.80665, weight(1), 1e-9);
  published("weighing", "no such how", "Tables of Weights, p. 12", How::guessed, 9.80665, weight(1), 1e-9);
  published("weighing", "memory is no reading", "from memory: Tables of Weights", How::read, 9.80665, weight(1), 1e-9);
  published("weighing", "an argument short", "Tables of Weights, p. 12", How::read, 9.80665, weight(1));
}
