// Claims of speed for castings: 100 000 virtual castings through the clean-up of 8 faces under 1 s on one core; the
// best pose of one casting from 200 points under 1 ms.
#include <benchmark/benchmark.h>

#include <cmath>

#include "calc/casting/best_pose.h"
#include "calc/casting/features.h"
#include "calc/casting/virtual_castings.h"
#include "maths/random.h"

namespace {

using namespace fettle::casting;
constexpr double mm = 1e-3;

/// A body of 132 x 92 x 36 with a cored bore: top, bottom, four edges, bore wall and floor, through four operations.
Model valve_body() {
  Casting c;
  c.parting_height = 18 * mm;
  c.texture_s = 0.1 * mm;
  for (const char* id : {"raw bottom", "raw top"}) c.surfaces.push_back({id, id[4] == 'b' ? drag : cope, false});
  for (const char* id : {"raw +X", "raw -X", "raw +Y", "raw -Y"}) c.surfaces.push_back({id, drag, true});
  for (const char* id : {"core wall", "core floor"}) c.surfaces.push_back({id, core(0), false});
  const Vec3 x{1, 0, 0}, y{0, 1, 0}, z{0, 0, 1}, o{0, 0, 18 * mm};
  c.modes = {isotropic_scale(o, 0.001),
             size_along("length", x, o, 136.25 * mm, 0.4 * mm),
             size_along("width", y, o, 97.1 * mm, 0.37 * mm),
             closure(z, 0.3 * mm),
             mould_shift("mismatch X", x, 0.1 * mm),
             mould_shift("mismatch Y", y, 0.1 * mm),
             mould_turn(z, o, 0.001),
             core_shift("core X", 0, x, 0.35 * mm),
             core_shift("core Y", 0, y, 0.30 * mm),
             core_shift("core Z", 0, z, 0.28 * mm),
             core_turn("core tilt X", 0, x, o, 0.003),
             core_turn("core tilt Y", 0, y, o, 0.003),
             core_diameter("core diameter", 0, {"core wall"}, 0.3 * mm),
             warp_bend("bow X", z, x, o, 132 * mm, 0.1 * mm),
             warp_bend("bow Y", z, y, o, 92 * mm, 0.1 * mm),
             warp_twist("twist", z, x, o, 132 * mm, 92 * mm, 0.1 * mm),
             stub("gate 1", "raw -Y", {-30 * mm, -48 * mm, 18 * mm}, 8 * mm, 1 * mm),
             stub("gate 2", "raw -Y", {30 * mm, -48 * mm, 18 * mm}, 8 * mm, 1 * mm)};
  const auto plane = [&](Vec3 centre, Vec3 n, Vec3 u, double hu, double hv, double stock, bool draft) {
    PlaneSpec s;
    s.centre = centre;
    s.normal = n;
    s.u = u;
    s.half_u = hu;
    s.half_v = hv;
    s.raw_stock = stock;
    s.parting_height = 18 * mm;
    s.draft = draft ? 0.02618 : 0;
    s.count_v = draft ? 3 : 5;
    return plane_points(s);
  };
  const auto flat = [&](const std::string& on, double height, double down) {
    const Vec3 n{0, 0, -down};
    return std::vector<Contact>{
        rest("1", on, {-50 * mm, -30 * mm, height}, n),
        rest("2", on, {50 * mm, -30 * mm, height}, n),
        rest("3", on, {0, 30 * mm, height}, n),
        rest("4", "raw -Y", {-40 * mm, -48.5 * mm, 18 * mm}, {0, -1, 0}),
        rest("5", "raw -Y", {40 * mm, -48.5 * mm, 18 * mm}, {0, -1, 0}),
        centred("6", "raw -X", {-68 * mm, 0, 18 * mm}, {-1, 0, 0}, "raw +X", {68 * mm, 0, 18 * mm}, x)};
  };
  Route r;
  r.operations = {
      {"grind top", flat("raw bottom", -2 * mm, 1), {}, {}},
      {"grind bottom", flat("top", 36 * mm, -1), {}, {}},
      {"edges", flat("bottom", 0, 1), {}, {}},
      {"pallet", flat("bottom", 0, 1), {-1.1 * mm, -0.2 * mm, 0, 0, 0, 0}, {1.1 * mm, 0.2 * mm, 0, 0, 0, 0}}};
  RoundSpec bore;
  bore.low = 18 * mm;
  bore.high = 36 * mm;
  bore.finished_radius = 25 * mm;
  bore.raw_radius = 23 * mm;
  bore.round = 16;
  r.faces = {
      {"top", "raw top", 0, plane({0, 0, 36 * mm}, z, x, 66 * mm, 46 * mm, 2 * mm, false), 0.8 * mm, 1, 0},
      {"bottom", "raw bottom", 1, plane({0, 0, 0}, {0, 0, -1}, x, 66 * mm, 46 * mm, 1.9 * mm, false), 0.8 * mm, 1, 0},
      {"+Y", "raw +Y", 2, plane({0, 46 * mm, 18 * mm}, y, x, 66 * mm, 18 * mm, 2.5 * mm, true), 0.8 * mm, 1, 0},
      {"-Y", "raw -Y", 2, plane({0, -46 * mm, 18 * mm}, {0, -1, 0}, x, 66 * mm, 18 * mm, 2.5 * mm, true), 0.8 * mm, 1,
       0},
      {"+X", "raw +X", 3, plane({66 * mm, 0, 18 * mm}, x, y, 46 * mm, 18 * mm, 2.1 * mm, true), 0.8 * mm, 1, 0},
      {"-X", "raw -X", 3, plane({-66 * mm, 0, 18 * mm}, {-1, 0, 0}, y, 46 * mm, 18 * mm, 2.1 * mm, true), 0.8 * mm, 1,
       0},
      {"bore", "core wall", 3, round_points(bore), 0.8 * mm, 1, 0},
      {"floor", "core floor", 3, plane({0, 0, 18 * mm}, z, x, 16 * mm, 16 * mm, 2.35 * mm, false), 0.8 * mm, 1, 0}};
  return build(c, r).value();
}

void virtual_castings_8_faces(benchmark::State& state) {
  const Model m = valve_body();
  VirtualInputs in;
  in.castings = 100000;
  for (auto _ : state) benchmark::DoNotOptimize(virtual_castings(m, in).value().any_fails.hits);
  state.counters["points"] = m.point_count;
  state.counters["parameters"] = static_cast<double>(m.parameters.size());
}
BENCHMARK(virtual_castings_8_faces)->Unit(benchmark::kMillisecond);

void model_of_8_faces(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(valve_body().point_count);
}
BENCHMARK(model_of_8_faces)->Unit(benchmark::kMicrosecond);

void best_pose_200_points(benchmark::State& state) {
  const Model m = valve_body();
  const OneCasting one = one_casting(m, 3, 17);
  PoseInputs in;
  for (const Face& f : m.faces) in.faces.push_back(f.id);
  std::size_t i = 0;
  for (std::size_t f = 0; f < m.faces.size(); ++f)
    for (const FacePoint& p : m.faces[f].points)
      in.points.push_back({p.q + one.stock[i++] * p.n, p.q, p.n, 0.8 * mm, 1, static_cast<int>(f)});
  for (std::size_t k = 0; in.points.size() < 200; ++k) {
    PosePoint p = in.points[k];
    p.p = p.p + 0.1 * mm * fettle::maths::uniform(1, k, 0) * p.n;
    in.points.push_back(p);
  }
  in.points.resize(200);
  in.low = {-2 * mm, -2 * mm, -2 * mm, -0.02, -0.02, -0.02};
  in.high = {2 * mm, 2 * mm, 2 * mm, 0.02, 0.02, 0.02};
  for (auto _ : state) benchmark::DoNotOptimize(best_pose(in).least);
}
BENCHMARK(best_pose_200_points)->Unit(benchmark::kMicrosecond);

void best_program_shift(benchmark::State& state) {
  const Model m = valve_body();
  const OneCasting one = one_casting(m, 3, 17);
  for (auto _ : state) benchmark::DoNotOptimize(best_shift(m, one.stock).least);
}
BENCHMARK(best_program_shift)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
