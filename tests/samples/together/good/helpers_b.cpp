namespace fettle::sample {
namespace {
int thrice(int x) { return 3 * x; }
}  // namespace
int helpers_b(int x) { return thrice(x); }
}  // namespace fettle::sample
