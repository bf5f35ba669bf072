// One word, two meanings.
#include <string>
namespace fettle::sample {
namespace {
using Name = std::string;
}  // namespace
int alias_a() { return static_cast<int>(Name("a").size()); }
}  // namespace fettle::sample
