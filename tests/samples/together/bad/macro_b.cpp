namespace fettle::sample {
int macro_b(int width) { return width; }
}  // namespace fettle::sample
