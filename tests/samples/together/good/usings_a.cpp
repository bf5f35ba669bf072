// Both mean the same thing by a word.
#include <string>
namespace fettle::sample {
namespace {
using Text = std::string;
}  // namespace
int usings_a() { return static_cast<int>(Text("ab").size()); }
}  // namespace fettle::sample
