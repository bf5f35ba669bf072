namespace fettle::sample {
namespace {
int half(int x) { return (x + 1) / 2; }
}  // namespace
int function_b(int x) { return half(x); }
}  // namespace fettle::sample
