namespace fettle::sample {
namespace {
int weigh(int x) { return 9 * x; }
}  // namespace
int text_b() { return weigh(2); }
}  // namespace fettle::sample
