#include "published.h"
using fettle::test::How;
using fettle::test::published;
static const char* kTable = "Tables of Weights, 3rd edition, p. 12";
struct Row {
  double mass, weight;
  const char* source;
};
TEST(Weighing, Published) {
  published("weighing", "weight of 1 kg, N", "Tables of Weights, 3rd edition, p. 12", How::read, 9.80665, weight(1), 1e-9);
  published("weighing", "weight of 2 kg, N", kTable, How::computed, 19.6133, weight(2), 1e-9);
  for (const Row& row : rows) published("weighing", "weight, N", row.source, How::exact, row.weight, weight(row.mass), 1e-9);
  // published("weighing", a comment is no check
}
