// The kernel's solid as plain faces and edges.
#include <BRepAdaptor_Curve.hxx>
#include <BRepAdaptor_Surface.hxx>
#include <BRepBndLib.hxx>
#include <BRepGProp.hxx>
#include <BRepTools.hxx>
#include <BRepTools_WireExplorer.hxx>
#include <BRepTopAdaptor_FClass2d.hxx>
#include <BRep_Tool.hxx>
#include <BndLib_Add3dCurve.hxx>
#include <Bnd_Box.hxx>
#include <ElSLib.hxx>
#include <GCPnts_TangentialDeflection.hxx>
#include <GProp_GProps.hxx>
#include <Geom2d_Curve.hxx>
#include <GeomAdaptor_Surface.hxx>
#include <Geom_Surface.hxx>
#include <ShapeAnalysis_Surface.hxx>
#include <ShapeCustom_Surface.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_DataMapOfShapeInteger.hxx>
#include <TopTools_IndexedDataMapOfShapeListOfShape.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Wire.hxx>
#include <algorithm>
#include <cmath>

#include "solid/kernel.h"

namespace fettle::solid {
namespace {

/// A face with what is asked of it often.
struct Work {
  TopoDS_Face face;
  Handle(Geom_Surface) surface;  // as in the file
  GeomAdaptor_Surface form;      // plane, cylinder, ... ; a spline that is one of these in truth is taken so
  bool fitted = false;           // form is not the surface itself
  std::shared_ptr<BRepTopAdaptor_FClass2d> inside;
  double u0 = 0, u1 = 0, v0 = 0, v1 = 0;
  bool reversed = false;
};

struct Scale {
  double s;
  Vec3 point(const gp_Pnt& p) const { return {p.X() * s, p.Y() * s, p.Z() * s}; }
  gp_Pnt back(Vec3 p) const { return {p.x / s, p.y / s, p.z / s}; }
};
/// A component that is zero but for rounding is zero, without a sign.
double tidy(double c) { return std::fabs(c) < 1e-14 ? 0 : c; }
Vec3 direction(const gp_Dir& d) { return {tidy(d.X()), tidy(d.Y()), tidy(d.Z())}; }
Vec3 vector(const gp_Vec& d) { return {d.X(), d.Y(), d.Z()}; }

constexpr double fit_tolerance = 1e-3;  // kernel lengths (mm): a spline this near to a cylinder is one

Work prepare(const TopoDS_Face& face) {
  Work w;
  w.face = face;
  w.surface = BRep_Tool::Surface(face);
  BRepTools::UVBounds(face, w.u0, w.u1, w.v0, w.v1);
  w.reversed = face.Orientation() == TopAbs_REVERSED;
  w.inside = std::make_shared<BRepTopAdaptor_FClass2d>(face, 1e-7);
  w.form.Load(w.surface);
  const auto type = w.form.GetType();
  if (type == GeomAbs_BSplineSurface || type == GeomAbs_BezierSurface || type == GeomAbs_SurfaceOfRevolution ||
      type == GeomAbs_SurfaceOfExtrusion) {
    // Fit only the part in use: a big spline can be a cylinder where the face lies and something else beyond.
    ShapeCustom_Surface custom(w.surface);
    const Handle(Geom_Surface) plain = custom.ConvertToAnalytical(fit_tolerance, Standard_False);
    if (!plain.IsNull() && custom.Gap() <= fit_tolerance) {
      w.form.Load(plain);
      w.fitted = true;
    }
  }
  return w;
}

/// Outward normal of the face at (u, v); false where the surface has none (a pole).
bool normal_at(const Work& w, double u, double v, Vec3& n, double& stretch) {
  gp_Pnt p;
  gp_Vec du, dv;
  w.surface->D1(u, v, p, du, dv);
  const gp_Vec c = du.Crossed(dv);
  stretch = c.Magnitude();
  if (!(stretch > 1e-12)) return false;
  n = (w.reversed ? -1.0 : 1.0) / stretch * vector(c);
  return true;
}

/// Sign of an axis that does not depend on how the file was written.
Vec3 settled(Vec3 a) {
  for (const double c : {a.z, a.y, a.x})
    if (std::fabs(c) > 1e-6) return c > 0 ? a : Vec3{} - a;
  return a;
}

void describe(const Work& w, Scale scale, Face& f) {
  gp_Pnt p;
  const double um = (w.u0 + w.u1) / 2, vm = (w.v0 + w.v1) / 2;
  w.surface->D0(um, vm, p);
  Vec3 n;
  double stretch = 0;
  normal_at(w, um, vm, n, stretch);
  const Vec3 at = scale.point(p);
  const auto place = [&](const gp_Ax3& frame) {
    f.point = scale.point(frame.Location());
    f.axis = settled(direction(frame.Direction()));
    const Vec3 r = at - f.point;
    f.concave = dot(n, r - dot(r, f.axis) * f.axis) < 0;
  };
  switch (w.form.GetType()) {
    case GeomAbs_Plane: {
      f.kind = Kind::plane;
      f.axis = direction(w.form.Plane().Axis().Direction());
      if (dot(n, f.axis) < 0) f.axis = Vec3{} - f.axis;
      f.point = f.centroid - dot(f.centroid - scale.point(w.form.Plane().Location()), f.axis) * f.axis;
      break;
    }
    case GeomAbs_Cylinder:
      f.kind = Kind::cylinder;
      place(w.form.Cylinder().Position());
      f.radius = w.form.Cylinder().Radius() * scale.s;
      break;
    case GeomAbs_Cone: {
      f.kind = Kind::cone;
      const gp_Cone cone = w.form.Cone();
      place(cone.Position());
      f.point = scale.point(cone.Apex());
      f.semi_angle = std::fabs(cone.SemiAngle());
      break;
    }
    case GeomAbs_Torus: {
      f.kind = Kind::torus;
      const gp_Torus torus = w.form.Torus();
      place(torus.Position());
      f.radius = torus.MajorRadius() * scale.s;
      f.minor_radius = torus.MinorRadius() * scale.s;
      const Vec3 r = at - f.point;
      const Vec3 out = r - dot(r, f.axis) * f.axis;
      f.concave = dot(n, at - (f.point + f.radius * frame::unit(out))) < 0;
      break;
    }
    case GeomAbs_Sphere:
      f.kind = Kind::sphere;
      f.point = scale.point(w.form.Sphere().Location());
      f.radius = w.form.Sphere().Radius() * scale.s;
      f.concave = dot(n, at - f.point) < 0;
      break;
    default:
      f.kind = Kind::spline;
      f.point = f.centroid;
  }
}

std::vector<Vec3> flatten(const BRepAdaptor_Curve& curve, Scale scale, double chord) {
  std::vector<Vec3> out;
  GCPnts_TangentialDeflection steps(curve, 0.2, std::max(chord / scale.s, 1e-5), 2);
  for (int i = 1; i <= steps.NbPoints(); ++i) out.push_back(scale.point(steps.Value(i)));
  return out;
}

/// The circle through a curve that is no circle by type (a spline export), if it is one.
bool fit_circle(const BRepAdaptor_Curve& curve, Scale scale, Edge& e) {
  constexpr int n = 12;
  std::array<Vec3, n + 1> p;
  for (std::size_t i = 0; i <= n; ++i) {
    const double t = static_cast<double>(i) / n;
    p[i] = scale.point(curve.Value(curve.FirstParameter() * (1 - t) + curve.LastParameter() * t));
  }
  const Vec3 a = p[4] - p[0], b = p[8] - p[0];
  const Vec3 k = cross(a, b);
  const double kk = dot(k, k);
  if (!(kk > 1e-8 * dot(a, a) * dot(b, b)) || !(kk > 0)) return false;
  const Vec3 c = p[0] + 0.5 / kk * (dot(a, a) * cross(b, k) + dot(b, b) * cross(k, a));
  const double r = norm(c - p[0]);
  const Vec3 axis = frame::unit(k);
  for (const Vec3& q : p)
    if (!(std::fabs(norm(q - c) - r) <= 2e-6) || !(std::fabs(dot(q - c, axis)) <= 2e-6)) return false;
  e.circle = e.spline = true;
  e.centre = c;
  e.axis = axis;
  e.radius = r;
  return true;
}

/// Direction into the face across its edge, and the face's outward normal, at the edge's middle.
bool edge_sides(const Work& w, const TopoDS_Edge& edge, Vec3& into, Vec3& n) {
  double first = 0, last = 0;
  const Handle(Geom2d_Curve) flat = BRep_Tool::CurveOnSurface(edge, w.face, first, last);
  if (flat.IsNull()) return false;
  const double t = 0.37 * first + 0.63 * last;
  gp_Pnt2d uv;
  gp_Vec2d d;
  flat->D1(t, uv, d);
  gp_Pnt p;
  gp_Vec du, dv;
  w.surface->D1(uv.X(), uv.Y(), p, du, dv);
  gp_Vec natural = du.Crossed(dv);
  if (!(natural.Magnitude() > 1e-12)) return false;
  gp_Vec along = d.X() * du + d.Y() * dv;
  if (!(along.Magnitude() > 1e-12)) return false;
  // The face lies left of its edge seen against the natural normal, in the face's own forward sense.
  for (TopExp_Explorer x(w.face.Oriented(TopAbs_FORWARD), TopAbs_EDGE); x.More(); x.Next())
    if (x.Current().IsSame(edge)) {
      if (x.Current().Orientation() == TopAbs_REVERSED) along.Reverse();
      break;
    }
  into = frame::unit(vector(natural.Crossed(along)));
  n = (w.reversed ? -1.0 : 1.0) * frame::unit(vector(natural));
  return true;
}

void outline_of(const Work& w, Scale scale, double chord, Face& f) {
  const TopoDS_Wire wire = BRepTools::OuterWire(w.face);
  if (wire.IsNull()) return;
  for (BRepTools_WireExplorer x(wire, w.face); x.More(); x.Next()) {
    if (BRep_Tool::Degenerated(x.Current())) continue;
    std::vector<Vec3> points = flatten(BRepAdaptor_Curve(x.Current()), scale, chord);
    if (x.Orientation() == TopAbs_REVERSED) std::reverse(points.begin(), points.end());
    f.outline.insert(f.outline.end(), points.begin(), points.empty() ? points.end() : points.end() - 1);
  }
}

/// Points spread over the face, cell by cell in its own parameters; at least one.
void sample(const Work& w, Scale scale, int aim, Face& f) {
  gp_Pnt p;
  gp_Vec du, dv;
  w.surface->D1((w.u0 + w.u1) / 2, (w.v0 + w.v1) / 2, p, du, dv);
  const double wide = std::max(du.Magnitude() * (w.u1 - w.u0), 1e-9),
               high = std::max(dv.Magnitude() * (w.v1 - w.v0), 1e-9);
  double cells = aim * std::clamp(wide * high * scale.s * scale.s / std::max(f.area, 1e-15), 1.0, 16.0);
  for (int attempt = 0; attempt < 6 && f.samples.empty(); ++attempt, cells *= 4) {
    const int nu = std::clamp(static_cast<int>(std::lround(std::sqrt(cells * wide / high))), 1, 400);
    const int nv = std::clamp(static_cast<int>(std::lround(cells / nu)), 1, 400);
    double sum = 0;
    for (int i = 0; i < nu; ++i)
      for (int k = 0; k < nv; ++k) {
        const double u = w.u0 + (w.u1 - w.u0) * (i + 0.5) / nu, v = w.v0 + (w.v1 - w.v0) * (k + 0.5) / nv;
        if (w.inside->Perform(gp_Pnt2d(u, v)) != TopAbs_IN) continue;
        Sample s;
        if (!normal_at(w, u, v, s.normal, s.area)) continue;
        w.surface->D0(u, v, p);
        s.point = scale.point(p);
        sum += s.area;
        f.samples.push_back(s);
      }
    for (Sample& s : f.samples) s.area *= f.area / sum;
  }
  if (!f.samples.empty()) return;
  for (TopExp_Explorer x(w.face, TopAbs_EDGE); x.More(); x.Next()) {  // a sliver: take the middle of an edge
    const TopoDS_Edge edge = TopoDS::Edge(x.Current());
    Sample s;
    Vec3 into;
    if (BRep_Tool::Degenerated(edge) || !edge_sides(w, edge, into, s.normal)) continue;
    const BRepAdaptor_Curve c(edge);
    s.point = scale.point(c.Value((c.FirstParameter() + c.LastParameter()) / 2));
    s.area = f.area;
    f.samples.push_back(s);
    return;
  }
}

/// Extent along the axis from the edges; the point of reference then moves to the middle of the face.
void extent(const Graph& g, const std::vector<int>& edges, Face& f) {
  if (f.kind != Kind::cylinder && f.kind != Kind::cone && f.kind != Kind::torus) return;
  double lo = 1e300, hi = -1e300;
  for (const int e : edges)
    for (const Vec3& p : g.edges[static_cast<std::size_t>(e)].points) {
      const double h = dot(p - f.point, f.axis);
      lo = std::min(lo, h);
      hi = std::max(hi, h);
    }
  if (!(lo <= hi)) return;
  if (f.kind == Kind::torus) {
    f.along_lo = lo;
    f.along_hi = hi;
    return;
  }
  const double middle =
      (lo + hi) / 2;  // a cone's reference so far is its apex, which its seam reaches if the face does
  if (f.kind == Kind::cone) f.radius = std::fabs(middle) * std::tan(f.semi_angle);
  f.point = f.point + middle * f.axis;
  f.along_lo = lo - middle;
  f.along_hi = hi - middle;
}

bool covers(const Work& w, const gp_Pnt& p) {
  double u = 0, v = 0;
  if (w.fitted || w.form.GetType() > GeomAbs_Torus) {
    const gp_Pnt2d uv = ShapeAnalysis_Surface(w.surface).ValueOfUV(p, 1e-4);
    u = uv.X();
    v = uv.Y();
    if (w.surface->Value(u, v).Distance(p) > 0.01) return false;
  } else {
    switch (w.form.GetType()) {
      case GeomAbs_Plane:
        ElSLib::Parameters(w.form.Plane(), p, u, v);
        break;
      case GeomAbs_Cylinder:
        ElSLib::Parameters(w.form.Cylinder(), p, u, v);
        break;
      case GeomAbs_Cone:
        ElSLib::Parameters(w.form.Cone(), p, u, v);
        break;
      case GeomAbs_Sphere:
        ElSLib::Parameters(w.form.Sphere(), p, u, v);
        break;
      default:
        ElSLib::Parameters(w.form.Torus(), p, u, v);
    }
  }
  const TopAbs_State state = w.inside->Perform(gp_Pnt2d(u, v));
  return state == TopAbs_IN || state == TopAbs_ON;
}

/// Tight box. An extreme of a face lies on its edge, or inside where its normal runs along a coordinate: never inside a
/// plane, cylinder or cone; at known points of a sphere or torus. The kernel's own search does the rest; used for all
/// faces it takes a third of the whole reading time.
Box box_of(const Work& w, Scale scale) {
  Bnd_Box box;
  const auto type = w.form.GetType();
  if (w.fitted || type > GeomAbs_Torus) {
    BRepBndLib::AddOptimal(w.face, box, Standard_False, Standard_False);
  } else {
    for (TopExp_Explorer x(w.face, TopAbs_EDGE); x.More(); x.Next())
      if (!BRep_Tool::Degenerated(TopoDS::Edge(x.Current())))
        BndLib_Add3dCurve::AddOptimal(BRepAdaptor_Curve(TopoDS::Edge(x.Current())), 0, box);
    const auto add = [&](const gp_Pnt& p) {
      if (covers(w, p)) box.Add(p);
    };
    for (const gp_Vec d :
         {gp_Vec(1, 0, 0), gp_Vec(-1, 0, 0), gp_Vec(0, 1, 0), gp_Vec(0, -1, 0), gp_Vec(0, 0, 1), gp_Vec(0, 0, -1)}) {
      if (type == GeomAbs_Sphere) add(w.form.Sphere().Location().Translated(w.form.Sphere().Radius() * d));
      if (type != GeomAbs_Torus) continue;
      const gp_Torus t = w.form.Torus();
      const gp_Vec axis(t.Axis().Direction());
      const gp_Vec flat = d - d.Dot(axis) * axis;
      if (flat.Magnitude() > 1e-9) {
        for (const double s : {1.0, -1.0})  // the outer and the inner side of the ring
          add(t.Location().Translated(s * t.MajorRadius() * flat.Normalized() + t.MinorRadius() * d));
        continue;
      }
      for (int k = 0; k < 72; ++k) {  // a whole circle of the ring is extreme: any covered point of it will do
        const gp_Vec u = gp_Vec(t.XAxis().Direction()).Rotated(t.Axis(), k * 3.14159265358979323846 / 36);
        add(t.Location().Translated(t.MajorRadius() * u + t.MinorRadius() * d));
      }
    }
  }
  double lo[3], hi[3];
  box.SetGap(0);
  box.Get(lo[0], lo[1], lo[2], hi[0], hi[1], hi[2]);
  return {scale.point({lo[0], lo[1], lo[2]}), scale.point({hi[0], hi[1], hi[2]})};
}

}  // namespace

Graph graph_of(const Loaded& loaded, const ReadOptions& options) {
  const TopoDS_Shape& solid = *static_cast<TopoDS_Shape*>(loaded.solid.get());
  const auto& ids = *static_cast<TopTools_DataMapOfShapeInteger*>(loaded.face_ids.get());
  const Scale scale{loaded.scale};
  TopTools_IndexedMapOfShape shapes;
  TopExp::MapShapes(solid, TopAbs_FACE, shapes);

  // Faces in the order of their entity numbers, so that the model can be searched by number.
  std::vector<int> order(static_cast<std::size_t>(shapes.Extent()));
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<int>(i) + 1;
  const auto id_of = [&](int i) { return ids.IsBound(shapes(i)) ? ids.Find(shapes(i)) : i; };
  std::stable_sort(order.begin(), order.end(), [&](int a, int b) { return id_of(a) < id_of(b); });
  std::vector<int> place(order.size() + 1);
  auto works = std::make_shared<std::vector<Work>>();
  Graph g;
  for (std::size_t i = 0; i < order.size(); ++i) {
    place[static_cast<std::size_t>(order[i])] = static_cast<int>(i);
    works->push_back(prepare(TopoDS::Face(shapes(order[i]))));
    const Work& w = works->back();
    Face f;
    f.id = id_of(order[i]);
    GProp_GProps props;
    if (w.fitted || w.form.GetType() > GeomAbs_Torus) BRepGProp::SurfaceProperties(w.face, props, 1e-6);
    else BRepGProp::SurfaceProperties(w.face, props);
    f.area = props.Mass() * scale.s * scale.s;
    f.centroid = scale.point(props.CentreOfMass());
    describe(w, scale, f);
    f.box = box_of(w, scale);
    outline_of(w, scale, options.chord, f);
    sample(w, scale, options.samples_per_face, f);
    g.faces.push_back(std::move(f));
  }
  g.covers = [works, scale](int face, Vec3 p) {
    return covers((*works)[static_cast<std::size_t>(face)], scale.back(p));
  };

  std::vector<TopTools_IndexedMapOfShape> outer(g.faces.size());
  for (std::size_t i = 0; i < outer.size(); ++i)
    TopExp::MapShapes(BRepTools::OuterWire((*works)[i].face), TopAbs_EDGE, outer[i]);
  TopTools_IndexedDataMapOfShapeListOfShape ancestors;
  TopExp::MapShapesAndAncestors(solid, TopAbs_EDGE, TopAbs_FACE, ancestors);
  g.face_edges.resize(g.faces.size());
  for (int i = 1; i <= ancestors.Extent(); ++i) {
    const TopoDS_Edge edge = TopoDS::Edge(ancestors.FindKey(i));
    if (BRep_Tool::Degenerated(edge)) continue;
    Edge e;
    std::size_t side = 0;
    for (TopTools_ListOfShape::Iterator it(ancestors(i)); it.More() && side < 2; it.Next(), ++side) {
      e.face[side] = place[static_cast<std::size_t>(shapes.FindIndex(it.Value()))];
      e.outer[side] = outer[static_cast<std::size_t>(e.face[side])].Contains(edge);
    }
    if (side == 1) {
      e.face[1] = e.face[0];
      e.outer[1] = e.outer[0];
    }
    const BRepAdaptor_Curve curve(edge);
    e.points = flatten(curve, scale, std::min(options.chord, 2e-5));
    for (std::size_t k = 1; k < e.points.size(); ++k) e.length += norm(e.points[k] - e.points[k - 1]);
    if (curve.GetType() == GeomAbs_Circle) {
      e.circle = true;
      e.centre = scale.point(curve.Circle().Location());
      e.axis = direction(curve.Circle().Axis().Direction());
      e.radius = curve.Circle().Radius() * scale.s;
    } else if (curve.GetType() != GeomAbs_Line) {
      fit_circle(curve, scale, e);
    }
    Vec3 into, n0, n1, unused;
    const auto at = [&](std::size_t k) -> const Work& { return (*works)[static_cast<std::size_t>(e.face[k])]; };
    if (e.face[0] != e.face[1] && edge_sides(at(0), edge, into, n0) && edge_sides(at(1), edge, unused, n1)) {
      const double rise = dot(n1, into);
      e.turn = std::fabs(rise) < 0.02 ? Turn::smooth : rise > 0 ? Turn::concave : Turn::convex;
    }
    const int index = static_cast<int>(g.edges.size());
    g.face_edges[static_cast<std::size_t>(e.face[0])].push_back(index);
    if (e.face[1] != e.face[0]) g.face_edges[static_cast<std::size_t>(e.face[1])].push_back(index);
    g.edges.push_back(std::move(e));
  }
  for (std::size_t i = 0; i < g.faces.size(); ++i) {
    Face& f = g.faces[i];
    for (const int e : g.face_edges[i])
      for (const int k : g.edges[static_cast<std::size_t>(e)].face)
        if (k != static_cast<int>(i)) f.neighbours.push_back(g.faces[static_cast<std::size_t>(k)].id);
    std::sort(f.neighbours.begin(), f.neighbours.end());
    f.neighbours.erase(std::unique(f.neighbours.begin(), f.neighbours.end()), f.neighbours.end());
    extent(g, g.face_edges[i], f);
  }
  return g;
}

}  // namespace fettle::solid
