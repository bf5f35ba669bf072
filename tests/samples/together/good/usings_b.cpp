#include <string>
namespace fettle::sample {
namespace {
using Text = std::string;
}  // namespace
int usings_b() { return static_cast<int>(Text("abc").size()); }
}  // namespace fettle::sample
