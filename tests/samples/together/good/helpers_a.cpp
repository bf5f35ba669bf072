// A name of its own that the other neither has nor calls.
namespace fettle::sample {
namespace {
int twice(int x) { return 2 * x; }
}  // namespace
int helpers_a(int x) { return twice(x); }
}  // namespace fettle::sample
