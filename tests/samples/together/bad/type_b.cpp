namespace fettle::sample {
namespace {
struct Row {
  double height = 0;
};
}  // namespace
int type_b() { return static_cast<int>(Row{}.height); }
}  // namespace fettle::sample
