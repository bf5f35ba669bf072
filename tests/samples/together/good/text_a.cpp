// The other's name stands here in a comment, weigh(1), and in a text only.
namespace fettle::sample {
const char* text_a() { return "weigh(1) kg"; }
}  // namespace fettle::sample
