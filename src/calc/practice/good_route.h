#pragma once
// For tests: a short route that keeps every rule, from grinding to oil. Invented.
#include "calc/practice/practice.h"

namespace fettle::practice::good {

inline Feature feature(std::string id, Shape shape, Start start, frame::Vec3 normal = {}) {
  Feature f;
  f.id = f.words = std::move(id);
  f.shape = shape, f.start = start, f.normal = normal;
  f.drains_into.emplace();
  if (start == Start::skin || start == Start::cored) f.least_stock = 1.5e-3;
  return f;
}
inline Cut cut(std::string tool, ToolKind kind, Pass pass, std::vector<std::string> features) {
  Cut c;
  c.tool = std::move(tool);
  c.kind = kind, c.pass = pass;
  c.features = std::move(features);
  return c;
}
inline Contact contact(std::string name, Touch touch, std::string on, frame::Vec3 at, bool steers = false) {
  Contact k;
  k.name = std::move(name);
  k.touch = touch;
  k.on = std::move(on);
  k.at = at;
  k.reach = 3e-3;
  k.steers = steers;
  return k;
}
/// Everything said, nothing done.
inline Operation operation(std::string id, How how, double part_time) {
  Operation o;
  o.id = o.words = std::move(id);
  o.how = how;
  o.part_time = part_time;
  o.at_once = 1;
  o.lot_time = 3600;
  o.magnetic = o.wet = false;
  o.steps = {false, false, false, false, false, false, false, false, false, false, false};
  return o;
}

inline Facts route() {
  Facts f;
  f.casting.iron = Iron::grey;
  f.casting.skin = 0.8e-3;
  f.casting.parting = 18e-3;
  f.casting.warp = 0.2e-3;
  f.casting.hardest = 260;
  f.casting.gates = {{"gate 1", "side -y", {-35e-3, -46e-3, 18e-3}, 18e-3}};
  f.critical_said = true;
  f.warm = 299.15, f.gauge_at = 293.15, f.expansion = 10.5e-6;

  Feature bottom = feature("bottom", Shape::face, Start::skin, {0, 0, -1});
  bottom.flatness = 0.03e-3;
  Feature counterbore = feature("counterbore", Shape::bore, Start::cored);
  counterbore.drains_into = std::vector<std::string>{"bore"};
  Feature bore = feature("bore", Shape::bore, Start::solid);
  bore.critical = bore.gauged = true, bore.size = 22e-3, bore.tolerance = 9e-6;
  bore.edges_on = {"bottom"};
  Feature groove = feature("groove", Shape::groove, Start::solid);
  groove.metal = "counterbore", groove.sealing = true, groove.drains_into = std::vector<std::string>{"bore"};
  Feature holes = feature("pin hole 1", Shape::hole, Start::solid),
          other = feature("pin hole 2", Shape::hole, Start::solid);
  holes.edges_on = other.edges_on = {"bottom"};
  Feature threads = feature("threads", Shape::thread, Start::solid);
  threads.edges_on = {"bottom"}, threads.edge_wall = 9e-3;
  f.features = {bottom,
                feature("top", Shape::face, Start::skin, {0, 0, 1}),
                feature("side +y", Shape::face, Start::skin, {0, 1, 0}),
                feature("side -y", Shape::face, Start::skin, {0, -1, 0}),
                feature("end -x", Shape::face, Start::skin, {-1, 0, 0}),
                counterbore,
                bore,
                groove,
                holes,
                other,
                threads,
                feature("pocket", Shape::pocket, Start::solid)};

  Operation g1 = operation("G1", How::grind, 60), g2 = operation("G2", How::grind, 60);
  g1.magnetic = g1.wet = g2.magnetic = g2.wet = true;
  g1.contacts = {contact("chuck", Touch::chuck, "bottom", {}, true)};
  g1.cuts = {cut("", ToolKind::wheel, Pass::grind, {"top"})};
  g1.steps.shims = g1.steps.cleans_seats = g1.steps.oils = g1.steps.deburrs = true;
  g2.contacts = {contact("chuck", Touch::chuck, "top", {}, true)};
  g2.cuts = {cut("", ToolKind::wheel, Pass::grind, {"bottom"})};
  g2.steps.cleans_seats = g2.steps.oils = g2.steps.deburrs = g2.steps.demagnetises = g2.steps.gauges = true;

  Operation op1 = operation("OP1", How::vise, 120);
  op1.wet = true;
  op1.contacts = {contact("rest", Touch::rest, "bottom", {-20e-3, 0, 0}, true),
                  contact("rest", Touch::rest, "bottom", {20e-3, 0, 0}, true),
                  contact("stop", Touch::stop, "end -x", {-66e-3, 0, 8e-3}, true),
                  contact("stop", Touch::stop, "side -y", {30e-3, -46e-3, 8e-3}, true),
                  contact("strap", Touch::clamp, "top", {20e-3, 0, 36e-3})};
  op1.contacts.back().pushes = frame::Vec3{0, 0, -1};
  op1.thickness = 36e-3;
  Cut tap = cut("T7", ToolKind::tap, Pass::tap, {"threads"});
  tap.forms = false;
  Cut mill = cut("T1", ToolKind::face_mill, Pass::rough_and_finish, {"side +y"});
  mill.leaves_over = {"bottom", "top"};
  mill.pass_depth = 3e-3;
  Cut open_up = cut("T3", ToolKind::end_mill, Pass::rough, {"counterbore"});
  open_up.leaves = 0.3e-3;
  op1.cuts = {cut("T9", ToolKind::chamfer, Pass::chamfer, {"side +y", "bottom"}),
              mill,
              cut("T2", ToolKind::drill, Pass::drill, {"bore"}),
              cut("T4", ToolKind::drill, Pass::drill, {"pin hole 1", "pin hole 2"}),
              cut("T5", ToolKind::reamer, Pass::ream, {"pin hole 1", "pin hole 2"}),
              cut("T6", ToolKind::drill, Pass::drill, {"threads"}),
              tap,
              open_up};
  op1.steps.cleans_seats = op1.steps.oils = op1.steps.deburrs = op1.steps.looks_for_pores = true;

  Operation op2 = operation("OP2", How::pallet, 400);
  op2.wet = true;
  op2.contacts = {contact("pad", Touch::rest, "bottom", {-50e-3, 0, 0}, true),
                  contact("pad", Touch::rest, "bottom", {50e-3, 0, 0}, true)};
  op2.pins = {{"round", "pin hole 1", true, 1.0e-3, 11e-6, 111e-3},
              {"relieved", "pin hole 2", false, 1.0e-3, 11e-6, 111e-3}};
  op2.screws = {{"bolt holes", 30e-3, 35.9e-3}};
  op2.run_offs = {{14e-3, 0.03}};
  op2.at_once = 4;
  op2.cuts = {cut("T11", ToolKind::end_mill, Pass::rough_and_finish, {"side -y", "end -x"}),
              cut("T16", ToolKind::end_mill, Pass::rough_and_finish, {"pocket"}),
              cut("T15", ToolKind::keyseat, Pass::groove, {"groove"}),
              cut("T14", ToolKind::boring, Pass::finish, {"counterbore"}),
              cut("T20", ToolKind::boring, Pass::finish, {"bore"})};
  op2.steps.cleans_seats = op2.steps.single_block = true;

  Operation hone = operation("OP3", How::hone, 90), bench = operation("OP4", How::deburr, 90);
  bench.steps.deburrs = bench.steps.washes = bench.steps.oils = bench.steps.soaks = bench.steps.gauges = true;
  f.operations = {g1, g2, op1, op2, hone, bench};
  f.relations = {{"coaxial", "counterbore", {"bore"}, 0.07e-3}, {"square", "bore", {"bottom"}, 0.01e-3}};
  return f;
}

inline Operation& op(Facts& f, const std::string& id) {
  for (Operation& o : f.operations)
    if (o.id == id) return o;
  return f.operations.front();
}
inline Feature& of(Facts& f, const std::string& id) {
  for (Feature& x : f.features)
    if (x.id == id) return x;
  return f.features.front();
}
/// The cut of that tool; the first cut of the operation for an empty tool.
inline Cut& by(Facts& f, const std::string& operation, const std::string& tool) {
  Operation& o = op(f, operation);
  for (Cut& c : o.cuts)
    if (c.tool == tool) return c;
  return o.cuts.front();
}

}  // namespace fettle::practice::good
