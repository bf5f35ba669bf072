// A raw casting from the finished part, step by step: fill, outside, stock, cores. Each step is kept only when one
// sound solid comes out.
#include <BRepAlgoAPI_Cut.hxx>
#include <BRepAlgoAPI_Defeaturing.hxx>
#include <BRepAlgoAPI_Fuse.hxx>
#include <BRepBuilderAPI_Transform.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepFilletAPI_MakeFillet.hxx>
#include <BRepGProp.hxx>
#include <BRepOffsetAPI_DraftAngle.hxx>
#include <BRepPrimAPI_MakeBox.hxx>
#include <BRepPrimAPI_MakeCone.hxx>
#include <BRepPrimAPI_MakeCylinder.hxx>
#include <BRepPrimAPI_MakePrism.hxx>
#include <BRep_Tool.hxx>
#include <GProp_GProps.hxx>
#include <GeomAdaptor_Surface.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <Standard_Failure.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_DataMapOfShapeInteger.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Solid.hxx>
#include <algorithm>
#include <cmath>
#include <map>
#include <vector>

#include "base/text.h"
#include "solid/kernel.h"
#include "solid/raw.h"

namespace fettle::solid {
namespace {

using Shapes = TopTools_ListOfShape;

gp_Pnt point_in(Vec3 p, double per_metre) { return {p.x * per_metre, p.y * per_metre, p.z * per_metre}; }

double volume_of(const TopoDS_Shape& shape) {
  GProp_GProps props;
  BRepGProp::VolumeProperties(shape, props);
  return props.Mass();
}

/// The one sound solid of a result; null when it is anything else.
TopoDS_Shape one_sound(const TopoDS_Shape& shape) {
  TopTools_IndexedMapOfShape solids;
  if (!shape.IsNull()) TopExp::MapShapes(shape, TopAbs_SOLID, solids);
  if (solids.Extent() != 1 || !BRepCheck_Analyzer(solids(1)).IsValid()) return {};
  return solids(1);
}

/// Upright block with rounded standing edges.
TopoDS_Shape upright(const gp_Pnt& low, const gp_Pnt& high, double radius) {
  const TopoDS_Shape box = BRepPrimAPI_MakeBox(low, high).Shape();
  if (!(radius > 1e-6)) return box;
  BRepFilletAPI_MakeFillet round(box);
  TopTools_IndexedMapOfShape edges;
  TopExp::MapShapes(box, TopAbs_EDGE, edges);
  for (int i = 1; i <= edges.Extent(); ++i) {
    double a = 0, b = 0;
    const Handle(Geom_Curve) line = BRep_Tool::Curve(TopoDS::Edge(edges(i)), a, b);
    if (std::fabs(line->Value(a).Z() - line->Value(b).Z()) > 0.5 * (high.Z() - low.Z()))
      round.Add(radius, TopoDS::Edge(edges(i)));
  }
  return round.Shape();
}

/// Its upright sides lean in, away from the parting plane, which lies at one of its ends.
TopoDS_Shape drafted(const TopoDS_Shape& block, double parting, bool upwards, double angle) {
  BRepOffsetAPI_DraftAngle draft(block);
  const gp_Dir away(0, 0, upwards ? 1 : -1);
  for (TopExp_Explorer x(block, TopAbs_FACE); x.More(); x.Next()) {
    const GeomAdaptor_Surface s(BRep_Tool::Surface(TopoDS::Face(x.Current())));
    if (s.GetType() == GeomAbs_Plane && std::fabs(s.Plane().Axis().Direction().Z()) > 0.5) continue;
    draft.Add(TopoDS::Face(x.Current()), away, angle, gp_Pln(gp_Pnt(0, 0, parting), gp_Dir(0, 0, 1)));
  }
  draft.Build();
  if (!draft.IsDone()) throw Standard_Failure("the draft could not be made");
  return draft.Shape();
}

class RawMaker {
 public:
  RawMaker(const Loaded& loaded, const RawWish& wish)
      : wish_(wish), per_metre_(1000), solid_(*static_cast<TopoDS_Shape*>(loaded.solid.get())) {
    std::map<int, TopoDS_Shape> by_id;
    for (TopTools_DataMapOfShapeInteger::Iterator it(
             *static_cast<TopTools_DataMapOfShapeInteger*>(loaded.face_ids.get()));
         it.More(); it.Next())
      by_id[it.Value()] = it.Key();
    gp_Trsf size;  // a file without a unit was taken as millimetres
    size.SetScaleFactor(loaded.scale * per_metre_);
    BRepBuilderAPI_Transform scaled(size);
    const bool as_is = std::fabs(loaded.scale * per_metre_ - 1) < 1e-12;
    if (!as_is) scaled.Perform(solid_, Standard_True);
    const auto left = [&](const RawFill& f) {
      std::vector<Left> out;
      for (const int id : f.faces) {
        const auto it = by_id.find(id);
        if (it == by_id.end()) continue;
        const auto raise = std::find_if(f.raises.begin(), f.raises.end(), [&](const RawRaise& r) {
          return std::find(r.floors.begin(), r.floors.end(), id) != r.floors.end();
        });
        out.push_back(
            {as_is ? it->second : scaled.ModifiedShape(it->second), raise == f.raises.end() ? nullptr : &*raise});
      }
      return out;
    };
    for (const RawFill& f : wish.fills) fills_.push_back(left(f));
    if (!as_is) solid_ = scaled.Shape();
    volume_ = volume_of(solid_);
  }

  RawModel make() {
    fill();
    place(false);
    outside();
    for (const RawFace& f : wish_.faces) face(f);
    for (const RawCore& c : wish_.cores) core(c);
    place(true);
    GProp_GProps props;  // to a millionth, however the faces are written: plain sums are off on splines
    BRepGProp::VolumeProperties(solid_, props, 1e-6);
    out_.volume = props.Mass() / (per_metre_ * per_metre_ * per_metre_);
    return out_;
  }
  const TopoDS_Shape& solid() const { return solid_; }

 private:
  /// A face that is still to be taken away, and how far it rises where that cannot be.
  struct Left {
    TopoDS_Shape face;
    const RawRaise* raise = nullptr;
  };
  /// Takes a result that has grown (or shrunk); false: it is left as it was.
  bool keep(const TopoDS_Shape& result, bool grown) {
    const TopoDS_Shape sound = one_sound(result);
    if (sound.IsNull()) return false;
    const double v = volume_of(sound);
    if (!std::isfinite(v) || !(grown ? v > volume_ * (1 + 1e-12) : v < volume_ * (1 - 1e-12))) return false;
    solid_ = sound, volume_ = v;
    return true;
  }
  template <class Step>
  void tried(const std::string& name, Step step) {
    bool done = false;
    try {
      done = step();
    } catch (const Standard_Failure&) {
      done = false;
    }
    if (!done) out_.not_made.push_back(name);
  }

  /// What became of the faces that later steps change.
  template <class Change>
  void follow(Change& change) {
    for (std::vector<Left>& later : fills_) {
      std::vector<Left> now;
      for (const Left& f : later) {
        if (change.IsDeleted(f.face)) continue;
        const Shapes& changed = change.Modified(f.face);
        if (changed.IsEmpty()) now.push_back(f);
        for (const TopoDS_Shape& c : changed) now.push_back({c, f.raise});
      }
      later = std::move(now);
    }
  }

  /// Removes the faces of these groups and closes what is open then by the faces around. What cannot be removed stays;
  /// true when something was.
  bool remove(const std::vector<std::size_t>& groups) try {
    BRepAlgoAPI_Defeaturing without;
    without.SetShape(solid_);
    for (const std::size_t g : groups)
      for (const Left& f : fills_[g]) without.AddFaceToRemove(f.face);
    without.SetRunParallel(Standard_False);
    without.SetToFillHistory(Standard_True);
    without.Build();
    if (!without.IsDone() || without.HasErrors() || !keep(without.Shape(), true)) return false;
    follow(without);
    return true;
  } catch (const Standard_Failure&) {
    return false;
  }
  /// All at once, which leaves what the kernel cannot remove; then those one by one; then with plugs.
  void fill() {
    const auto left = [&] {
      std::vector<std::size_t> out;
      for (std::size_t g = 0; g < fills_.size(); ++g)
        if (!fills_[g].empty()) out.push_back(g);
      return out;
    };
    if (!left().empty()) remove(left());
    for (const std::size_t g : left()) remove({g});
    for (const std::size_t g : left())
      if (!plugged(g)) out_.not_made.push_back(wish_.fills[g].name);
  }

  Vec3 into_model(Vec3 p) const { return rotate(inverse(wish_.pose), p); }
  /// Metal of the hollow's own shape, joined to the solid.
  bool plugged(std::size_t g) try {
    const RawFill& f = wish_.fills[g];
    const frame::Pose back = inverse(wish_.pose);
    Shapes more;
    for (const RawPlug& p : f.plugs) {
      const gp_Pnt from = point_in(back * p.from, per_metre_), to = point_in(back * p.to, per_metre_);
      if (!(from.Distance(to) > 1e-6)) continue;
      more.Append(BRepPrimAPI_MakeCylinder(gp_Ax2(from, gp_Dir(gp_Vec(from, to))), 0.5 * p.diameter * per_metre_,
                                           from.Distance(to))
                      .Shape());
    }
    for (const Left& l : fills_[g]) {
      if (l.raise == nullptr || !(l.raise->depth > 0)) continue;
      const Vec3 up = into_model(l.raise->up);
      const gp_Dir way(up.x, up.y, up.z);
      const TopoDS_Face& face = TopoDS::Face(l.face);
      if (looks_along(face, way))
        more.Append(BRepPrimAPI_MakePrism(face, l.raise->depth * per_metre_ * gp_Vec(way)).Shape());
    }
    if (more.IsEmpty()) return false;
    BRepAlgoAPI_Fuse with;
    fuse(more, with);
    if (!keep(with.Shape(), true)) return false;
    follow(with);
    return true;
  } catch (const Standard_Failure&) {
    return false;
  }
  static bool looks_along(const TopoDS_Face& face, const gp_Dir& way) {
    const GeomAdaptor_Surface s(BRep_Tool::Surface(face));
    if (s.GetType() != GeomAbs_Plane) return false;
    gp_Dir n = s.Plane().Axis().Direction();
    if (!s.Plane().Direct()) n.Reverse();
    if (face.Orientation() == TopAbs_REVERSED) n.Reverse();
    return n.Angle(way) < 1e-6;
  }

  /// Into the frame of the wish, and back.
  void place(bool back) {
    const auto& R = wish_.pose.R;
    const Vec3 t = wish_.pose.t;
    gp_Trsf move;
    move.SetValues(R[0], R[1], R[2], t.x * per_metre_, R[3], R[4], R[5], t.y * per_metre_, R[6], R[7], R[8],
                   t.z * per_metre_);
    if (back) move.Invert();
    solid_ = BRepBuilderAPI_Transform(solid_, move, Standard_True).Shape();
  }

  void fuse(const Shapes& more, BRepAlgoAPI_Fuse& with) const {
    Shapes objects;
    objects.Append(solid_);
    with.SetArguments(objects);
    with.SetTools(more);
    with.SetRunParallel(Standard_False);
    with.Build();
    if (!with.IsDone() || with.HasErrors()) throw Standard_Failure("not joined");
  }

  /// A ring round the finished sides: outside it the raw profile with draft, inside it the sides as they will be.
  void outside() {
    const RawOutside& o = wish_.outside;
    if (!o.there) return;
    tried("outside", [&] {
      const double k = per_metre_;
      const gp_Pnt lo = point_in(wish_.box.lo, k), hi = point_in(wish_.box.hi, k);
      const gp_Pnt raw_lo(lo.X() - o.low_x * k, lo.Y() - o.low_y * k, lo.Z()),
          raw_hi(hi.X() + o.high_x * k, hi.Y() + o.high_y * k, hi.Z());
      const double radius = o.radius > 0 ? (o.radius + std::min({o.low_x, o.high_x, o.low_y, o.high_y})) * k : 0;
      const double parting = std::clamp(o.parting * k, lo.Z(), hi.Z());
      TopoDS_Shape raw;
      for (const bool upwards : {false, true}) {
        const double from = upwards ? parting : lo.Z(), to = upwards ? hi.Z() : parting;
        if (!(to - from > 1e-6)) continue;
        TopoDS_Shape half = upright({raw_lo.X(), raw_lo.Y(), from}, {raw_hi.X(), raw_hi.Y(), to}, radius);
        if (o.draft > 1e-9) half = drafted(half, parting, upwards, o.draft);
        raw = raw.IsNull() ? half : BRepAlgoAPI_Fuse(raw, half).Shape();
      }
      const TopoDS_Shape ring = BRepAlgoAPI_Cut(raw, upright(lo, hi, o.radius * k)).Shape();
      Shapes more;
      more.Append(ring);
      BRepAlgoAPI_Fuse with;
      fuse(more, with);
      return keep(with.Shape(), true);
    });
  }

  void face(const RawFace& f) {
    tried(f.name, [&] {
      const gp_Dir out(f.normal.x, f.normal.y, f.normal.z);
      const gp_Pnt at = point_in(f.point, per_metre_);
      const gp_Vec stock(f.stock * per_metre_ * gp_Vec(out));
      Shapes more;
      for (TopExp_Explorer x(solid_, TopAbs_FACE); x.More(); x.Next()) {
        const TopoDS_Face& here = TopoDS::Face(x.Current());
        if (!looks_along(here, out)) continue;
        if (GeomAdaptor_Surface(BRep_Tool::Surface(here)).Plane().Distance(at) > 1e-4) continue;
        more.Append(BRepPrimAPI_MakePrism(here, stock).Shape());
      }
      if (more.IsEmpty()) return false;
      BRepAlgoAPI_Fuse with;
      fuse(more, with);
      return keep(with.Shape(), true);
    });
  }

  void core(const RawCore& c) {
    tried(c.name, [&] {
      const gp_Pnt from = point_in(c.from, per_metre_), to = point_in(c.to, per_metre_);
      const gp_Ax2 axis(from, gp_Dir(gp_Vec(from, to)));
      const double a = 0.5 * c.diameter * per_metre_, b = c.to_diameter > 0 ? 0.5 * c.to_diameter * per_metre_ : a;
      const TopoDS_Shape hole = std::fabs(a - b) < 1e-9 ? BRepPrimAPI_MakeCylinder(axis, a, from.Distance(to)).Shape()
                                                        : BRepPrimAPI_MakeCone(axis, a, b, from.Distance(to)).Shape();
      return keep(BRepAlgoAPI_Cut(solid_, hole).Shape(), false);
    });
  }

  const RawWish& wish_;
  double per_metre_;
  TopoDS_Shape solid_;
  double volume_ = 0;
  std::vector<std::vector<Left>> fills_;
  RawModel out_;
};

}  // namespace

Outcome<RawModel> build_raw(const Loaded& loaded, const RawWish& wish) try {
  Message::DefaultMessenger()->ChangePrinters().Clear();
  RawMaker maker(loaded, wish);
  RawModel out = maker.make();
  if (one_sound(maker.solid()).IsNull()) return ours("the raw casting came out as no sound solid");
  Loaded made;
  made.solid = std::make_shared<TopoDS_Shape>(maker.solid());
  auto text = write_again(made, wish.product, loaded.unit == "in");
  if (!text) return text.problems();
  out.step = std::move(*text);
  return out;
} catch (const Standard_Failure& e) {
  const char* why = e.GetMessageString();
  return ours(std::string("the raw casting could not be made: ") +
              (why != nullptr && *why != 0 ? why : e.DynamicType()->Name()));
}

}  // namespace fettle::solid
