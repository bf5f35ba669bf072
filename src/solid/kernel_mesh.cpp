// Triangles and plane sections of the kernel's solid.
#include <BRepAdaptor_Curve.hxx>
#include <BRepAlgoAPI_Section.hxx>
#include <BRepMesh_IncrementalMesh.hxx>
#include <BRep_Tool.hxx>
#include <GCPnts_TangentialDeflection.hxx>
#include <Poly_Triangulation.hxx>
#include <Standard_Failure.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TopTools_DataMapOfShapeInteger.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>
#include <map>

#include "solid/kernel.h"

namespace fettle::solid {
namespace {

using Key = std::array<long long, 3>;
Key key(Vec3 p) {  // 1 nm grid, shifted so that round numbers do not lie on a border
  const auto cell = [](double x) { return static_cast<long long>(std::floor(x * 1e9 + 0.3137)); };
  return {cell(p.x), cell(p.y), cell(p.z)};
}

double wire_area(const std::vector<Vec3>& w, Vec3 normal) {
  Vec3 sum;
  for (std::size_t i = 0; i < w.size(); ++i) sum = sum + cross(w[i] - w[0], w[(i + 1) % w.size()] - w[0]);
  return std::fabs(dot(sum, normal)) / 2;
}

/// Joins pieces end to end into closed wires; false when an end finds no partner within 2 um.
bool chain(std::vector<std::vector<Vec3>> pieces, std::vector<std::vector<Vec3>>& wires) {
  constexpr double near = 2e-6;
  while (!pieces.empty()) {
    std::vector<Vec3> wire = std::move(pieces.back());
    pieces.pop_back();
    while (norm(wire.front() - wire.back()) > near || wire.size() < 3) {
      std::size_t best = pieces.size();
      double distance = near;
      bool flip = false;
      for (std::size_t i = 0; i < pieces.size(); ++i) {
        const double a = norm(pieces[i].front() - wire.back()), b = norm(pieces[i].back() - wire.back());
        if (std::min(a, b) <= distance) {
          distance = std::min(a, b);
          best = i;
          flip = b < a;
        }
      }
      if (best == pieces.size()) return false;
      if (flip) std::reverse(pieces[best].begin(), pieces[best].end());
      wire.insert(wire.end(), pieces[best].begin() + 1, pieces[best].end());
      pieces.erase(pieces.begin() + static_cast<std::ptrdiff_t>(best));
    }
    wire.pop_back();
    wires.push_back(std::move(wire));
  }
  return true;
}

}  // namespace

Mesh mesh_of(const Loaded& loaded, double chord, double angle) {
  const TopoDS_Shape& solid = *static_cast<TopoDS_Shape*>(loaded.solid.get());
  const auto& ids = *static_cast<TopTools_DataMapOfShapeInteger*>(loaded.face_ids.get());
  const BRepMesh_IncrementalMesh mesher(solid, chord / loaded.scale, Standard_False, angle, Standard_False);
  Mesh mesh;
  std::map<Key, int> known;
  for (TopExp_Explorer x(solid, TopAbs_FACE); x.More(); x.Next()) {
    TopLoc_Location where;
    const Handle(Poly_Triangulation) t = BRep_Tool::Triangulation(TopoDS::Face(x.Current()), where);
    if (t.IsNull()) continue;
    std::vector<int> node(static_cast<std::size_t>(t->NbNodes()) + 1);
    for (int i = 1; i <= t->NbNodes(); ++i) {
      const gp_Pnt p = t->Node(i).Transformed(where.Transformation());
      const Vec3 v = {p.X() * loaded.scale, p.Y() * loaded.scale, p.Z() * loaded.scale};
      const auto [at, fresh] = known.emplace(key(v), static_cast<int>(mesh.points.size()));
      if (fresh) mesh.points.push_back(v);
      node[static_cast<std::size_t>(i)] = at->second;
    }
    const int id = ids.IsBound(x.Current()) ? ids.Find(x.Current()) : 0;
    for (int i = 1; i <= t->NbTriangles(); ++i) {
      int a = 0, b = 0, c = 0;
      t->Triangle(i).Get(a, b, c);
      if (x.Current().Orientation() == TopAbs_REVERSED) std::swap(b, c);
      const std::array<int, 3> tri = {node[static_cast<std::size_t>(a)], node[static_cast<std::size_t>(b)],
                                      node[static_cast<std::size_t>(c)]};
      if (tri[0] == tri[1] || tri[1] == tri[2] || tri[2] == tri[0]) continue;
      mesh.triangles.push_back(tri);
      mesh.face_ids.push_back(id);
    }
  }
  return mesh;
}

Outcome<Section> section_of(const Loaded& loaded, const Cut& cut, double chord) try {
  const TopoDS_Shape& solid = *static_cast<TopoDS_Shape*>(loaded.solid.get());
  const double s = loaded.scale;
  BRepAlgoAPI_Section cutter(solid,
                             gp_Pln(gp_Pnt(cut.point.x / s, cut.point.y / s, cut.point.z / s),
                                    gp_Dir(cut.normal.x, cut.normal.y, cut.normal.z)),
                             Standard_False);
  cutter.Build();
  if (!cutter.IsDone()) return bad("the solid could not be cut at this plane");
  std::vector<std::vector<Vec3>> pieces;
  for (TopExp_Explorer x(cutter.Shape(), TopAbs_EDGE); x.More(); x.Next()) {
    const BRepAdaptor_Curve curve(TopoDS::Edge(x.Current()));
    GCPnts_TangentialDeflection steps(curve, 0.5, std::max(chord / s, 1e-5), 2);
    std::vector<Vec3> points;
    for (int i = 1; i <= steps.NbPoints(); ++i)
      points.push_back({steps.Value(i).X() * s, steps.Value(i).Y() * s, steps.Value(i).Z() * s});
    if (points.size() > 1) pieces.push_back(std::move(points));
  }
  Section out;
  out.cut = cut;
  std::vector<std::vector<Vec3>> wires;
  if (!chain(std::move(pieces), wires))
    return bad("the section does not close", "", "a plane that does not lie in a face of the part");
  for (auto& w : wires) {
    const double area = wire_area(w, cut.normal);
    out.wires.push_back({std::move(w), area});
  }
  std::stable_sort(out.wires.begin(), out.wires.end(), [](const Wire& a, const Wire& b) { return a.area > b.area; });
  return out;
} catch (const Standard_Failure& e) {
  return bad("the solid could not be cut at this plane", e.DynamicType()->Name());
}

}  // namespace fettle::solid
