// A namespace that ends alike hides the one that the other means.
namespace fettle::unit {
inline int metre() { return 1; }
}  // namespace fettle::unit
namespace fettle::sample {
int spaces_a() { return unit::metre(); }
}  // namespace fettle::sample
