namespace fettle::sample {
namespace {
constexpr int second = 3;
}  // namespace
int constant_b() { return second; }
}  // namespace fettle::sample
