#include "output/papers/flow.h"

#include <algorithm>
#include <memory>

namespace fettle::papers {

using drawings::Align;
using drawings::Ink;
using drawings::Path;
using drawings::Pen;
using drawings::Point;
using drawings::TextStyle;

namespace {

constexpr double cell_gap = 2.5, row_air = 1.3;
constexpr int longest_cell = 26;  // lines; longer texts end in …, the whole text stands in the study's JSON

TextStyle styled(const Cell& cell, double width, bool right) {
  TextStyle style = cell.style;
  style.wrap = width - cell_gap - cell.indent;
  style.max_lines = longest_cell;
  if (right) style.align = Align::right;
  return style;
}

}  // namespace

void Flow::new_page() {
  pages_.emplace_back();
  y_ = 0;
  if (header_) put(*header_);
}

void Flow::put(const Block& block) {
  if (pages_.empty()) pages_.emplace_back();
  pages_.back().push_back({y_, block});
  y_ += block.height;
}

void Flow::add(Block block) {
  if (pages_.empty()) pages_.emplace_back();
  const double top = header_ ? header_->height : 0;
  if (y_ + block.height + block.keep_with > height_ && y_ > top) new_page();
  put(block);
}

void add_table(Flow& flow, const Table& table) {
  const auto shared = std::make_shared<const Table>(table);
  const double width = [&] {
    double w = 0;
    for (double x : table.widths) w += x;
    return w;
  }();
  const auto right = [shared](std::size_t i) { return i < shared->right.size() && shared->right[i]; };
  const auto column_x = [shared](std::size_t i) {
    double x = 0;
    for (std::size_t k = 0; k < i; ++k) x += shared->widths[k];
    return x;
  };
  const TextStyle head_style{.size = 2.4, .ink = Ink::grey};
  double head_height = 0;
  for (std::size_t i = 0; i < table.heads.size(); ++i)
    head_height = std::max(
        head_height, measure(table.heads[i], styled({table.heads[i], head_style}, table.widths[i], false)).height);
  Block head;
  head.height = head_height + 2 * row_air;
  head.draw = [=](Pen& pen) {
    for (std::size_t i = 0; i < shared->heads.size(); ++i) {
      const double x = column_x(i) + (right(i) ? shared->widths[i] - cell_gap : 0);
      pen.text({x, row_air}, shared->heads[i], styled({shared->heads[i], head_style}, shared->widths[i], right(i)));
    }
    pen.stroke(Path::segment({0, head_height + 2 * row_air}, {width, head_height + 2 * row_air}), {0.35});
  };
  const auto height_of = [&](const Row& row) {
    double height = 0;
    for (std::size_t i = 0; i < row.columns.size() && i < table.widths.size(); ++i) {
      double h = 0;
      for (const Cell& cell : row.columns[i]) h += measure(cell.text, styled(cell, table.widths[i], right(i))).height;
      height = std::max(height, h);
    }
    return height + 2 * row_air;
  };
  if (!table.rows.empty()) head.keep_with = height_of(table.rows[0]);
  flow.add(head);
  head.keep_with = 0;
  flow.set_header(&head);
  for (std::size_t r = 0; r < table.rows.size(); ++r) {
    const double height = height_of(table.rows[r]);
    flow.add({height,
              [=](Pen& pen) {
                const Row& row = shared->rows[r];
                for (std::size_t i = 0; i < row.columns.size() && i < shared->widths.size(); ++i) {
                  double y = row_air;
                  const double x = column_x(i) + (right(i) ? shared->widths[i] - cell_gap : 0);
                  for (const Cell& cell : row.columns[i])
                    y += pen.text({x + cell.indent, y}, cell.text, styled(cell, shared->widths[i], right(i))).height;
                }
                if (row.extra) row.extra(pen, height);
                pen.stroke(Path::segment({0, height}, {width, height}), {0.1, Ink::light});
              },
              {},
              0});
  }
  flow.set_header(nullptr);
}

void add_text(Flow& flow, const std::string& text, TextStyle style, double below) {
  // Twenty lines of the widest letters: a piece never needs more than a page.
  const std::size_t piece =
      style.wrap > 0 && style.size > 0 ? static_cast<std::size_t>(std::max(100.0, 20 * style.wrap / style.size)) : 1000;
  std::size_t from = 0;
  while (from < text.size()) {
    std::size_t to = std::min(text.size(), from + piece);
    if (to < text.size()) {
      const std::size_t blank = text.rfind(' ', to);
      if (blank != std::string::npos && blank > from) to = blank + 1;
      else
        while (to > from + 1 && (static_cast<unsigned char>(text[to]) & 0xC0) == 0x80) --to;
    }
    const std::string part = text.substr(from, to - from);
    const double height = measure(part, style).height;
    flow.add({height, [part, style](Pen& pen) { pen.text({0, 0}, part, style); }, {}, 0});
    from = to;
  }
  flow.space(below);
}

}  // namespace fettle::papers
