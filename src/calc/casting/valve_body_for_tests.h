#pragma once
// The demo's valve body as plain features: 132 x 92 x 36, cored counterbore, ground, edges milled on raw edges, datum
// holes, pallet.
#include <string>

#include "calc/casting/features.h"
#include "calc/casting/measured.h"

namespace fettle::casting::valve_body {

constexpr double mm = 1e-3, draft = 0.026179938779914945;  // 1.5 degrees
constexpr double parting = 18.05 * mm;
const Vec3 x{1, 0, 0}, y{0, 1, 0}, z{0, 0, 1}, centre{0, 0, parting};
enum ModeIndex { length, width, thickness, core_d, core_x, core_y, core_z, bow };

inline Casting casting() {
  Casting c;
  c.parting_height = parting;
  c.surfaces = {{"raw bottom", drag, false},   {"raw top", cope, false},      {"raw +X", drag, true},
                {"raw -X", drag, true},        {"raw +Y", drag, true},        {"raw -Y", drag, true},
                {"core wall", core(0), false}, {"core floor", core(0), false}};
  // Grade 9: DCT/6 each; core as the demo says.
  c.modes = {size_along("length", x, centre, 136.25 * mm, 2.5 / 6 * mm),
             size_along("width", y, centre, 97.1 * mm, 2.2 / 6 * mm),
             closure(z, 1.8 / 6 * mm),
             core_diameter("core diameter", 0, {"core wall"}, 0.30 * mm),
             core_shift("core shift X", 0, x, 0.35 * mm),
             core_shift("core shift Y", 0, y, 0.30 * mm),
             core_shift("core floor", 0, z, 1.7 / 6 * mm),
             warp_bend("bow of the bottom", {0, 0, -1}, x, centre, 132 * mm, 0.2 * mm)};
  c.modes[bow].surfaces = {"raw bottom"};
  return c;
}

inline std::vector<FacePoint> edge(Vec3 at, Vec3 n, Vec3 along, double half, double raw_stock) {
  PlaneSpec s;
  s.centre = {at.x, at.y, 18 * mm};
  s.normal = n;
  s.u = along;
  s.half_u = half;
  s.half_v = 18 * mm;
  s.raw_stock = raw_stock;
  s.draft = draft;
  s.parting_height = parting;
  return plane_points(s);
}
inline std::vector<FacePoint> flat(double at, Vec3 n, double half_x, double half_y, double raw_stock) {
  PlaneSpec s;
  s.centre = {0, 0, at};
  s.normal = n;
  s.u = x;
  s.half_u = half_x;
  s.half_v = half_y;
  s.raw_stock = raw_stock;
  return plane_points(s);
}

inline Route route() {
  const auto three = [](const std::string& on, double at, Vec3 n) {
    return std::vector<Contact>{rest("z1", on, {-50 * mm, -30 * mm, at}, n), rest("z2", on, {50 * mm, -30 * mm, at}, n),
                                rest("z3", on, {0, 30 * mm, at}, n)};
  };
  const auto sideways = [](std::vector<Contact> c, const std::string& on, double at, Vec3 n) {
    c.push_back(rest("y1", on, {-50 * mm, at, parting}, n));
    c.push_back(rest("y2", on, {50 * mm, at, parting}, n));
    c.push_back(centred("x", "raw -X", {-68.125 * mm, 0, parting}, -x, "raw +X", {68.125 * mm, 0, parting}, x));
    return c;
  };
  Route r;
  r.operations = {{"G10 top", sideways(three("raw bottom", -1.9 * mm, -z), "raw -Y", -48.55 * mm, -y), {}, {}},
                  {"G10 bottom", sideways(three("F11", 36 * mm, z), "raw -Y", -48.55 * mm, -y), {}, {}},
                  {"OP10 first", sideways(three("A", 0, -z), "raw -Y", -48.55 * mm, -y), {}, {}},
                  {"OP10 second", sideways(three("A", 0, -z), "edge +Y", 46.45 * mm, y), {}, {}},
                  {"OP20",
                   sideways(three("F11", 36 * mm, z), "edge -Y", -46.55 * mm, -y),
                   {-1.1 * mm, -0.2 * mm},
                   {1.1 * mm, 0.2 * mm}}};
  Operation pallet{"OP30", three("A", 0, -z), {}, {}};
  pallet.contacts.push_back(rest("B x", "F7", {-44 * mm, -34 * mm, 0}, x));
  pallet.contacts.push_back(rest("B y", "F7", {-44 * mm, -34 * mm, 0}, y));
  pallet.contacts.push_back(rest("C", "F7", {44 * mm, 34 * mm, 0}, frame::unit(Vec3{-34, 44, 0})));
  r.operations.push_back(pallet);

  const double skin = 0.8 * mm;
  RoundSpec bore;
  bore.low = 18 * mm;
  bore.high = 36 * mm;
  bore.finished_radius = 25 * mm;
  bore.raw_radius = 23 * mm;
  bore.round = 72;
  const auto then = [](double at, double edge_at, Vec3 n) {
    std::vector<FacePoint> p = edge({0, at, 0}, n, x, 54 * mm, 0);
    for (FacePoint& f : p) f.p.y = edge_at;
    return p;
  };
  r.faces = {{"F11", "raw top", 0, flat(36 * mm, z, 66 * mm, 46 * mm, 2.0 * mm), skin, 1, 0},
             {"A", "raw bottom", 1, flat(0, -z, 66 * mm, 46 * mm, 1.9 * mm), skin, 1, 0},
             {"edge +Y", "raw +Y", 2, edge({0, 46.45 * mm, 0}, y, x, 54 * mm, 2.1 * mm), skin, 1, 0},
             {"edge -Y", "raw -Y", 3, edge({0, -46.55 * mm, 0}, -y, x, 54 * mm, 2.0 * mm), skin, 1, 0},
             {"F7", "", 4, {}, 0, 1, 0},
             {"F1 +Y", "edge +Y", 5, then(46 * mm, 46.45 * mm, y), 0.2 * mm, 1, 0},
             {"F1 -Y", "edge -Y", 5, then(-46 * mm, -46.55 * mm, -y), 0.2 * mm, 1, 0},
             {"F1 +X", "raw +X", 5, edge({66 * mm, 0, 0}, x, y, 34 * mm, 2.125 * mm), skin, 1, 0},
             {"F1 -X", "raw -X", 5, edge({-66 * mm, 0, 0}, -x, y, 34 * mm, 2.125 * mm), skin, 1, 0},
             {"F2", "core wall", 5, round_points(bore), skin, 1, 0},
             {"F3", "core floor", 5, flat(18 * mm, z, 15 * mm, 15 * mm, 2.35 * mm), skin, 1, 0}};
  return r;
}

inline std::vector<TapeMeaning> meanings() {
  return {{"thick", thickness, 39.9 * mm, 1, false},
          {"width", width, 97.1 * mm, 1, false},
          {"length", length, 136.25 * mm, 1, false},
          {"coreD", core_d, 46.0 * mm, 1, false},
          {"coreX", core_x, 0, 1, false},
          {"coreY", core_y, 0, 1, false},
          {"floorZ", core_z, 20.35 * mm, 1, false},
          {"warp", bow, 0, 1, true}};
}

inline const char* const sample =
    "no,thick,width,length,coreD,coreX,coreY,floorZ,warp\n"
    "1,40.3,97.5,136.1,45.9,0.4,0.4,19.4,0.18\n2,39.9,97.4,136.9,45.5,0.6,-0.6,19.5,0.20\n"
    "3,39.7,96.9,136.7,46.2,0.3,0.0,19.9,0.18\n4,40.6,96.8,136.1,45.7,0.4,0.2,19.8,0.13\n"
    "5,40.1,97.4,136.1,46.7,0.3,0.1,19.6,0.09\n6,39.8,97.4,136.6,45.5,0.0,-0.3,19.7,0.24\n"
    "7,40.0,97.2,136.3,45.8,1.3,-0.9,19.2,0.16\n8,39.7,97.6,136.9,45.7,0.1,0.0,19.6,0.32\n"
    "9,40.1,97.4,135.7,45.9,0.6,0.0,19.5,0.17\n10,40.1,96.8,136.4,45.8,0.5,0.3,19.3,0.22\n"
    "11,39.6,97.6,136.6,46.7,0.0,-0.6,19.1,0.20\n12,39.7,97.2,136.2,46.1,0.3,-0.1,19.0,0.32\n"
    "13,40.0,97.3,136.5,46.1,2.6,0.4,19.4,0.21\n";

inline MeasuredSample measured() {
  TapeOptions o;
  o.unit = "mm";
  return measured_sample(read_tape(sample, o).value(), meanings(), casting()).value();
}

}  // namespace fettle::casting::valve_body
