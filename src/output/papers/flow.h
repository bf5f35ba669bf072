#pragma once
// Blocks one below the other on pages of one size, with a head and a foot on each.
#include <functional>
#include <string>
#include <vector>

#include "output/drawings/pen.h"

namespace fettle::papers {

/// Something of a known height; drawn with its top left at the pen's origin.
struct Block {
  double height = 0;
  std::function<void(drawings::Pen&)> draw;
  std::string bookmark;  ///< for the PDF's outline; may be empty
  double keep_with = 0;  ///< room that must be left below it on the same page
};

class Flow {
 public:
  /// Body height in mm.
  explicit Flow(double height) : height_(height) {}
  void add(Block block);
  void space(double mm) { y_ += mm; }
  void new_page();
  double left() const { return height_ - y_; }
  bool at_top() const { return pages_.empty() || pages_.back().empty(); }
  /// Called at the top of each page that is started in the middle of a table; its height counts.
  void set_header(const Block* header) { header_ = header; }

  struct Placed {
    double y;
    Block block;
  };
  const std::vector<std::vector<Placed>>& pages() const { return pages_; }

 private:
  void put(const Block& block);
  double height_, y_ = 0;
  const Block* header_ = nullptr;
  std::vector<std::vector<Placed>> pages_;
};

/// A table: columns by width, cells wrap, rows break to the next page under a repeated head.
struct Cell {
  std::string text;
  drawings::TextStyle style;  ///< wrap is set from the column
  double indent = 0;          ///< mm, for a mark in front
};
struct Row {
  std::vector<std::vector<Cell>> columns;                        ///< cells of one column stand one below the other
  std::function<void(drawings::Pen&, double row_height)> extra;  ///< drawn over the row, e.g. a mark
};
struct Table {
  std::vector<double> widths;
  std::vector<std::string> heads;
  std::vector<bool> right;  ///< columns set to the right
  std::vector<Row> rows;
};
void add_table(Flow& flow, const Table& table);

/// A paragraph; a very long one is cut into several blocks so that it can run over pages.
void add_text(Flow& flow, const std::string& text, drawings::TextStyle style, double below);

}  // namespace fettle::papers
