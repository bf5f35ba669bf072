#include "output/drawings/panels.h"

#include <gtest/gtest.h>

#include <cmath>

#include "output/drawings/sheet_checks.h"

namespace fettle::drawings {
namespace {

const Stamp stamp{"t", "Fettle", ""};

PanelsView thickness() {
  PanelsView v;
  v.title = "The plate's thickness: EN AW-5083";
  v.sentence = "At nest 3, the corner: what 100 N across the wall do there.";
  v.x_name = "thickness, mm";
  v.x = {15, 20, 25, 30, 40};
  v.marked = {false, true, true, true, false};
  v.marked_name = "stands in the shop file";
  v.now = 25;
  v.now_text = "now 25 mm";
  v.better = 30;
  v.better_text = "better 30 mm";
  Panel a;
  a.name = "gives to 100 N, µm";
  a.lines = {{"as stated", {1.5, 1.2, 1.0, 0.9, 0.8}, Dash::solid}};
  a.low = {1.2, 1.0, 0.9, 0.8, 0.7};
  a.high = {1.9, 1.5, 1.2, 1.1, 1.0};
  a.point = 1.1;
  a.point_text = "this cut";
  Panel b;
  b.name = "weight, kg";
  b.lines = {{"plate", {3, 4, 5, 6, 8}, Dash::solid}, {"with parts", {15, 16, 17, 18, 20}, Dash::dashed}};
  v.panels = {a, b};
  return v;
}
std::string words(const Drawing& d) { return all_text(to_svg(d, stamp)->pages[0]); }

TEST(Panels, SaysItsAxesItsPointAndWhatCanBeBought) {
  for (const Room& room : {Room{180, 250}, Room{120, 250}}) {
    const Drawing d = panels(thickness(), room);
    expect_well_kept(d);
    const std::string w = words(d);
    for (const char* part : {"gives to 100 N, µm", "weight, kg", "thickness, mm", "now 25 mm", "this cut", "with parts",
                             "stands in the shop file"})
      EXPECT_NE(w.find(part), std::string::npos) << part << " in\n" << w;
  }
}

TEST(Panels, GapsNothingAndOnePointAreDrawnWithoutHarm) {
  PanelsView v = thickness();
  v.panels[0].lines[0].y[2] = std::nan("");
  v.panels[0].low[1] = std::nan("");
  expect_well_kept(panels(v, {180, 250}));
  v.x = {25};
  v.panels[0].lines[0].y = {1};
  expect_well_kept(panels(v, {180, 250}));
  v.panels.clear();
  EXPECT_NE(words(panels(v, {180, 250})).find("open"), std::string::npos);
  v = thickness();
  v.panels[0].most = 0.5;  // curves run out of the top
  expect_well_kept(panels(v, {180, 250}));
}

}  // namespace
}  // namespace fettle::drawings
