// A macro reaches further than its source.
#define width 3
namespace fettle::sample {
int macro_a() { return width; }
}  // namespace fettle::sample
