#include <string_view>
namespace fettle::sample {
namespace {
using Name = std::string_view;
}  // namespace
int alias_b() { return static_cast<int>(Name("a").size()); }
}  // namespace fettle::sample
