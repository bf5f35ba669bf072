// The second of several constants said in one line.
namespace fettle::sample {
namespace {
constexpr int first = 1, second = 2;
}  // namespace
int constant_a() { return first + second; }
}  // namespace fettle::sample
