namespace fettle::sample {
namespace {
struct Row {
  int width = 0;
};
}  // namespace
int type_a() { return Row{}.width; }
}  // namespace fettle::sample
