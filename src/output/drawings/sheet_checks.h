#pragma once
// Checks on what a pen recorded, shared by the tests of drawings and papers.
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "output/drawings/pen.h"

namespace fettle::drawings {

/// Pairs of texts whose inked boxes overlap by more than a hair in both directions.
inline std::vector<std::string> overlaps(const Record& record) {
  std::vector<std::string> out;
  constexpr double hair = 0.15;
  for (std::size_t i = 0; i < record.texts.size(); ++i)
    for (std::size_t j = i + 1; j < record.texts.size(); ++j) {
      const Box &a = record.texts[i].box, &b = record.texts[j].box;
      const double w = std::min(a.right(), b.right()) - std::max(a.x, b.x);
      const double h = std::min(a.bottom(), b.bottom()) - std::max(a.y, b.y);
      if (w > hair && h > hair) out.push_back(record.texts[i].text + " / " + record.texts[j].text);
    }
  return out;
}

/// True when nothing was inked outside the sheet.
inline bool inside_sheet(const Record& record, double width, double height) {
  constexpr double hair = 0.2;
  return record.left >= -hair && record.top >= -hair && record.right <= width + hair && record.bottom <= height + hair;
}

inline std::string all_text(const Record& record) {
  std::string out;
  for (const Placed& placed : record.texts) out += placed.text + "\n";
  return out;
}

inline void expect_well_kept(const Drawing& drawing) {
  SCOPED_TRACE(drawing.title);
  const auto out = to_svg(drawing, {"test", "Fettle", "2026-03-02"});
  ASSERT_TRUE(out.ok()) << say(out.problem());
  const Record& r = out->pages[0];
  EXPECT_TRUE(inside_sheet(r, drawing.width, drawing.height))
      << r.left << " " << r.top << " " << r.right << " " << r.bottom << " of " << drawing.width << " "
      << drawing.height;
  for (const Placed& placed : r.texts)
    if (placed.box.x < -0.2 || placed.box.y < -0.2 || placed.box.right() > drawing.width + 0.2 ||
        placed.box.bottom() > drawing.height + 0.2)
      ADD_FAILURE() << "outside the sheet: " << placed.text.substr(0, 60) << " at " << placed.box.x << " "
                    << placed.box.y << " size " << placed.box.width << " " << placed.box.height;
  EXPECT_EQ(overlaps(r), std::vector<std::string>{});
}

}  // namespace fettle::drawings
