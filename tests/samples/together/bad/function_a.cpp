// The same function of its own in both.
namespace fettle::sample {
namespace {
int half(int x) { return x / 2; }
}  // namespace
int function_a(int x) { return half(x); }
}  // namespace fettle::sample
