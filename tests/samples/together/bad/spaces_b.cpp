namespace fettle::sample::unit {
inline int pace() { return 2; }
}  // namespace fettle::sample::unit
namespace fettle::sample {
int spaces_b() { return unit::pace(); }
}  // namespace fettle::sample
