// Making solids: the demo's models, and re-exports.
#include <APIHeaderSection_MakeHeader.hxx>
#include <BRepAlgoAPI_Cut.hxx>
#include <BRepAlgoAPI_Fuse.hxx>
#include <BRepBuilderAPI_NurbsConvert.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepFilletAPI_MakeFillet.hxx>
#include <BRepOffsetAPI_DraftAngle.hxx>
#include <BRepPrimAPI_MakeBox.hxx>
#include <BRepPrimAPI_MakeCone.hxx>
#include <BRepPrimAPI_MakeCylinder.hxx>
#include <BRepPrimAPI_MakeSphere.hxx>
#include <BRep_Builder.hxx>
#include <BRep_Tool.hxx>
#include <GeomAdaptor_Surface.hxx>
#include <Interface_Static.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <STEPControl_Writer.hxx>
#include <Standard_Failure.hxx>
#include <StepBasic_Product.hxx>
#include <StepData_Protocol.hxx>
#include <StepData_StepModel.hxx>
#include <StepData_StepWriter.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Shell.hxx>
#include <TopoDS_Solid.hxx>
#include <XSControl_WorkSession.hxx>
#include <algorithm>
#include <cmath>
#include <sstream>
#include <vector>

#include "base/text.h"
#include "solid/kernel.h"

namespace fettle::solid {
namespace {

constexpr double degree = 3.14159265358979323846 / 180;
using Tools = TopTools_ListOfShape;

gp_Ax2 up(double x, double y, double z) { return {gp_Pnt(x, y, z), gp_Dir(0, 0, 1)}; }
gp_Ax2 down(double x, double y, double z) { return {gp_Pnt(x, y, z), gp_Dir(0, 0, -1)}; }

TopoDS_Shape cylinder(const gp_Ax2& from, double diameter, double length) {
  return BRepPrimAPI_MakeCylinder(from, diameter / 2, length).Shape();
}

/// A drilled hole: full diameter to `depth`, then the point.
void drill(Tools& tools, const gp_Ax2& from, double diameter, double depth, double point_angle) {
  const double tip = diameter / 2 / std::tan(point_angle / 2);
  gp_Ax2 end = from;
  end.Translate(depth * gp_Vec(from.Direction()));
  const TopoDS_Shape hole = cylinder(from, diameter, depth);
  tools.Append(BRepAlgoAPI_Fuse(hole, BRepPrimAPI_MakeCone(end, diameter / 2, 0, tip).Shape()).Shape());
}

/// Upright block with rounded standing edges, middle of its bottom at (x, y, z).
TopoDS_Shape block(double x, double y, double z, double length, double width, double height, double radius) {
  const TopoDS_Shape box = BRepPrimAPI_MakeBox(gp_Pnt(x - length / 2, y - width / 2, z), length, width, height).Shape();
  BRepFilletAPI_MakeFillet round(box);
  TopTools_IndexedMapOfShape seen;
  for (TopExp_Explorer e(box, TopAbs_EDGE); e.More(); e.Next()) {
    if (seen.Contains(e.Current())) continue;
    seen.Add(e.Current());
    double a = 0, b = 0;
    const Handle(Geom_Curve) line = BRep_Tool::Curve(TopoDS::Edge(e.Current()), a, b);
    if (std::fabs(line->Value(a).Z() - line->Value(b).Z()) > height / 2) round.Add(radius, TopoDS::Edge(e.Current()));
  }
  return round.Shape();
}

TopoDS_Shape cut(const TopoDS_Shape& from, const Tools& tools) {
  Tools objects;
  objects.Append(from);
  BRepAlgoAPI_Cut operation;
  operation.SetArguments(objects);
  operation.SetTools(tools);
  operation.Build();
  return operation.Shape();
}

TopoDS_Solid only_solid(const TopoDS_Shape& shape) {
  TopoDS_Solid found;
  int count = 0;
  for (TopExp_Explorer x(shape, TopAbs_SOLID); x.More(); x.Next(), ++count) found = TopoDS::Solid(x.Current());
  if (count != 1 || !BRepCheck_Analyzer(found).IsValid()) throw Standard_Failure("not one valid solid");
  return found;
}

TopoDS_Solid part() {
  Tools tools;
  tools.Append(cylinder(up(0, 0, 18), 50, 20));                                                // F2, F3
  tools.Append(cylinder(up(0, 0, -1), 22, 20));                                                // F4
  tools.Append(cylinder(up(0, 0, 27.15), 54, 3.7));                                            // F5
  for (const double s : {1.0, -1.0}) tools.Append(block(-42 * s, 27 * s, 24, 30, 22, 14, 6));  // F6
  for (const double s : {1.0, -1.0}) tools.Append(cylinder(up(-44 * s, -34 * s, -1), 8, 16));  // F7
  for (const double s : {1.0, -1.0}) tools.Append(cylinder(up(54 * s, 0, -1), 10.5, 40));      // F8
  for (const double s : {1.0, -1.0})
    for (const double x : {-22.0, 0.0, 22.0}) drill(tools, up(x, 38 * s, 0), 6.8, 22, 118 * degree);  // F9
  for (const double s : {1.0, -1.0}) {
    drill(tools, down(33 * s, 20 * s, 36), 5, 16, 118 * degree);  // F10
    drill(tools, down(33 * s, -6 * s, 36), 5, 16, 118 * degree);
  }
  return only_solid(cut(block(0, 0, 0, 132, 92, 36, 12), tools));
}

/// Half of the casting's outside, drafted inward away from the parting plane.
TopoDS_Shape drafted(double from, double to, double parting) {
  constexpr double length = 136.25, width = 97.1, radius = 14.3;
  const TopoDS_Shape raw = block(0, 0, from, length, width, to - from, radius);
  const gp_Dir away(0, 0, from < parting - 1e-9 ? -1 : 1);
  BRepOffsetAPI_DraftAngle draft(raw);
  for (TopExp_Explorer x(raw, TopAbs_FACE); x.More(); x.Next()) {
    const GeomAdaptor_Surface s(BRep_Tool::Surface(TopoDS::Face(x.Current())));
    if (s.GetType() == GeomAbs_Plane && std::fabs(s.Plane().Axis().Direction().Z()) > 0.5) continue;
    draft.Add(TopoDS::Face(x.Current()), away, 1.5 * degree, gp_Pln(gp_Pnt(0, 0, parting), gp_Dir(0, 0, 1)));
  }
  draft.Build();
  if (!draft.IsDone()) throw Standard_Failure("the draft could not be made");
  return draft.Shape();
}

TopoDS_Solid casting() {
  constexpr double bottom = -1.9, top = 38.0, parting = (bottom + top) / 2, floor = 20.35, core = 46.0;
  TopoDS_Shape body = BRepAlgoAPI_Fuse(drafted(bottom, parting, parting), drafted(parting, top, parting)).Shape();
  for (const double x : {-35.0, 35.0})  // gate stubs, ground to 1.0
    body = BRepAlgoAPI_Fuse(body, BRepPrimAPI_MakeBox(gp_Pnt(x - 12, -97.1 / 2 - 1.0, parting - 5), 24, 5, 10).Shape())
               .Shape();
  Tools tools;
  tools.Append(cylinder(up(0, 0, floor), core, top + 1 - floor));  // a sand core from a core box: no draft
  return only_solid(cut(body, tools));
}

TopoDS_Solid shaft() {
  TopoDS_Shape body = BRepAlgoAPI_Fuse(cylinder(up(0, 0, 0), 40, 80), cylinder(up(0, 0, 80), 30, 40)).Shape();
  Tools tools;
  tools.Append(BRepAlgoAPI_Cut(cylinder(up(0, 0, 20), 60, 3), cylinder(up(0, 0, 19), 34, 5)).Shape());
  return only_solid(cut(body, tools));
}

/// A round-ended slot from (x, y, z) upward, along X.
TopoDS_Shape obround(double x, double y, double z, double length, double width, double height) {
  const double half = (length - width) / 2;
  TopoDS_Shape s = BRepPrimAPI_MakeBox(gp_Pnt(x - half, y - width / 2, z), 2 * half, width, height).Shape();
  for (const double k : {-1.0, 1.0}) s = BRepAlgoAPI_Fuse(s, cylinder(up(x + k * half, y, z), width, height)).Shape();
  return s;
}

/// A block with its upper edges untouched and the edges round its bottom filleted: cuts a pocket with a floor fillet.
TopoDS_Shape filleted(double x, double y, double z, double length, double width, double height, double corner,
                      double floor) {
  const TopoDS_Shape b = block(x, y, z, length, width, height, corner);
  BRepFilletAPI_MakeFillet round(b);
  TopTools_IndexedMapOfShape seen;
  for (TopExp_Explorer e(b, TopAbs_EDGE); e.More(); e.Next()) {
    if (seen.Contains(e.Current())) continue;
    seen.Add(e.Current());
    double p = 0, q = 0;
    const Handle(Geom_Curve) line = BRep_Tool::Curve(TopoDS::Edge(e.Current()), p, q);
    if (std::fabs(line->Value(p).Z() - z) < 1e-6 && std::fabs(line->Value(q).Z() - z) < 1e-6)
      round.Add(floor, TopoDS::Edge(e.Current()));
  }
  return round.Shape();
}

TopoDS_Solid slots() {
  TopoDS_Shape body = BRepPrimAPI_MakeBox(gp_Pnt(-60, -40, 0), 120, 80, 20).Shape();
  body = BRepAlgoAPI_Fuse(body, cylinder(up(45, -25, 20), 16, 10)).Shape();  // boss
  Tools tools;
  tools.Append(BRepPrimAPI_MakeBox(gp_Pnt(-45, -50, 15), 10, 100, 10).Shape());  // open slot along Y
  tools.Append(obround(0, 25, 14, 30, 8, 10));                                   // blind slot
  tools.Append(BRepPrimAPI_MakeBox(gp_Pnt(35, 10, 12), 40, 20, 10).Shape());     // open at +X
  tools.Append(filleted(0, -10, 10, 30, 24, 14, 5, 2));                          // floor fillet
  tools.Append(cylinder(up(-50, 0, -1), 5, 30));                                 // countersunk, through
  tools.Append(BRepPrimAPI_MakeCone(up(-50, 0, 16), 1, 6, 5).Shape());
  tools.Append(
      BRepAlgoAPI_Fuse(cylinder(up(-20, 30, 10), 6, 20), BRepPrimAPI_MakeSphere(gp_Pnt(-20, 30, 10), 3).Shape())
          .Shape());
  return only_solid(cut(body, tools));
}

/// A round flange with a hub: a bore through, six holes on a circle.
TopoDS_Solid flange() {
  const TopoDS_Shape body = BRepAlgoAPI_Fuse(cylinder(up(0, 0, 0), 120, 18), cylinder(up(0, 0, 18), 64, 24)).Shape();
  Tools tools;
  tools.Append(cylinder(up(0, 0, -1), 40, 60));
  for (int i = 0; i < 6; ++i)
    tools.Append(cylinder(up(47.5 * std::cos(60 * i * degree), 47.5 * std::sin(60 * i * degree), -1), 11, 30));
  return only_solid(cut(body, tools));
}

/// A long bar with a bore at either end, and two holes between.
TopoDS_Solid bar() {
  Tools tools;
  for (const double s : {-1.0, 1.0}) {
    tools.Append(cylinder(up(130 * s, 0, -1), 20, 40));
    tools.Append(cylinder(up(60 * s, 0, -1), 9, 40));
  }
  return only_solid(cut(block(0, 0, 0, 300, 60, 28, 8), tools));
}

/// A thin cover with screw holes along its rim and two holes for dowels.
TopoDS_Solid cover() {
  Tools tools;
  for (const double x : {-80.0, 0.0, 80.0})
    for (const double y : {-55.0, 55.0}) tools.Append(cylinder(up(x, y, -1), 9, 20));
  for (const double s : {-1.0, 1.0}) tools.Append(cylinder(up(80 * s, 25 * s, -1), 8, 20));
  return only_solid(cut(block(0, 0, 0, 180, 130, 10, 10), tools));
}

/// A box with one bore along X, one along Y, and holes in its corners along Z; "leaning": one hole 30 degrees off.
TopoDS_Solid box(bool leaning) {
  Tools tools;
  tools.Append(cylinder({gp_Pnt(-90, 0, 70), gp_Dir(1, 0, 0)}, 24, 180));
  tools.Append(cylinder({gp_Pnt(0, -70, 30), gp_Dir(0, 1, 0)}, 20, 140));
  for (const double x : {-65.0, 65.0})
    for (const double y : {-48.0, 48.0}) tools.Append(cylinder(up(x, y, -1), 9, 120));
  if (leaning) tools.Append(cylinder({gp_Pnt(-40, 25, 110), gp_Dir(0.5, 0, -std::sqrt(0.75))}, 8, 40));
  return only_solid(cut(block(0, 0, 0, 160, 120, 100, 8), tools));
}

/// An angle of two legs in one plane: a bored boss where they meet, four screw holes and two unlike holes for pins.
TopoDS_Solid ell() {
  Tools tools;
  tools.Append(BRepPrimAPI_MakeBox(gp_Pnt(-36, -16, -1), 120, 80, 40).Shape());  // what the two legs leave
  for (const auto& [x, y] : {std::pair{-68.0, 46.0}, {-48.0, 46.0}, {60.0, -48.0}, {60.0, -28.0}})
    tools.Append(cylinder(up(x, y, -1), 9, 40));
  tools.Append(cylinder(up(-58, 20, -1), 8, 40));
  tools.Append(cylinder(up(30, -38, -1), 10, 40));
  tools.Append(cylinder(up(-58, -38, -1), 20, 40));
  const TopoDS_Shape body = BRepAlgoAPI_Fuse(BRepPrimAPI_MakeBox(gp_Pnt(-80, -60, 0), 160, 120, 24).Shape(),
                                             cylinder(up(-58, -38, 24), 32, 8))
                                .Shape();
  return only_solid(cut(body, tools));
}

/// A block with a pocket, a deeper one in its floor, and four holes.
TopoDS_Solid stepped() {
  Tools tools;
  tools.Append(block(0, 0, 25, 80, 40, 20, 10));
  tools.Append(block(10, 0, 12, 40, 20, 20, 6));
  for (const double x : {-58.0, 58.0})
    for (const double y : {-38.0, 38.0}) tools.Append(cylinder(up(x, y, -1), 9, 60));
  return only_solid(cut(block(0, 0, 0, 140, 100, 40, 8), tools));
}

/// A plate with many holes, no two alike: to see how work grows with features.
TopoDS_Solid plate(int holes) {
  Tools tools;
  for (int i = 0; i < holes; ++i) {
    const int row = i / 6;
    tools.Append(cylinder(up(-100.0 + 40 * (i % 6), -60.0 + 40 * static_cast<double>(row), -1), 7.0 + 0.5 * i, 40));
  }
  return only_solid(cut(block(0, 0, 0, 260, 180, 30, 8), tools));
}

Handle(TCollection_HAsciiString) text(const char* s) { return new TCollection_HAsciiString(s); }

std::string write(const TopoDS_Shape& solid, const char* product, const char* author = "Fettle demo",
                  const char* unit = "MM") {
  STEPControl_Writer writer;
  Interface_Static::SetCVal("write.step.schema", "AP242DIS");
  Interface_Static::SetCVal("write.step.unit", unit);
  Interface_Static::SetCVal("write.step.product.name", product);
  Interface_Static::SetIVal("write.surfacecurve.mode", 0);  // no curves in surface parameters: half the text
  writer.Model(Standard_True);
  if (writer.Transfer(solid, STEPControl_AsIs) != IFSelect_RetDone)
    throw Standard_Failure("the solid could not be written");
  const Handle(StepData_StepModel) model = writer.Model();
  for (int i = 1; i <= model->NbEntities(); ++i)
    if (const auto p = Handle(StepBasic_Product)::DownCast(model->Value(i)); !p.IsNull()) {
      p->SetId(text(product));
      p->SetName(text(product));
    }
  APIHeaderSection_MakeHeader header(model);
  header.SetName(text(product));
  header.SetTimeStamp(text("2026-01-01T00:00:00"));  // fixed: the same bytes on every day
  header.SetDescriptionValue(1, text(product));
  header.SetAuthorValue(1, text(author));
  header.SetOrganizationValue(1, text(""));
  header.SetPreprocessorVersion(text("Fettle"));
  header.SetOriginatingSystem(text("Fettle"));
  header.SetAuthorisation(text(""));
  header.Apply(model);
  StepData_StepWriter out(model);
  out.SendModel(Handle(StepData_Protocol)::DownCast(writer.WS()->Protocol()));
  std::ostringstream stream;
  if (!out.Print(stream)) throw Standard_Failure("the text could not be written");
  return stream.str();
}

/// The same faces in another order.
TopoDS_Shape shuffled(const TopoDS_Shape& solid, std::uint64_t seed) {
  BRep_Builder make;
  TopoDS_Solid out;
  make.MakeSolid(out);
  for (TopExp_Explorer s(solid, TopAbs_SHELL); s.More(); s.Next()) {
    std::vector<TopoDS_Shape> faces;
    for (TopExp_Explorer f(s.Current().Oriented(TopAbs_FORWARD), TopAbs_FACE); f.More(); f.Next())
      faces.push_back(f.Current());
    std::uint64_t state = seed;
    for (std::size_t i = faces.size(); i > 1; --i) {
      state = state * 6364136223846793005ULL + 1442695040888963407ULL;
      std::swap(faces[i - 1], faces[(state >> 33) % i]);
    }
    TopoDS_Shell shell;
    make.MakeShell(shell);
    for (const TopoDS_Shape& f : faces) make.Add(shell, f);
    shell.Closed(Standard_True);
    make.Add(out, shell.Oriented(s.Current().Orientation()));
  }
  return out;
}

template <class Make>
Outcome<std::string> guarded(const std::string& what, Make make) try {
  Message::DefaultMessenger()->ChangePrinters().Clear();
  return make();
} catch (const Standard_Failure& e) {
  return ours(what + ": " +
              (e.GetMessageString() && *e.GetMessageString() ? e.GetMessageString() : e.DynamicType()->Name()));
}

}  // namespace

Outcome<std::string> build_part() {
  return guarded("the demo part could not be made", [] { return write(part(), "WVB-3"); });
}

Outcome<std::string> build_casting() {
  return guarded("the demo casting could not be made", [] { return write(casting(), "WVB-3 casting"); });
}

Outcome<std::string> build_sample(const std::string& which) {
  return guarded("the sample could not be made", [&] {
    const TopoDS_Solid solid = which == "shaft"      ? shaft()
                               : which == "flange"   ? flange()
                               : which == "bar"      ? bar()
                               : which == "cover"    ? cover()
                               : which == "slots"    ? slots()
                               : which == "ell"      ? ell()
                               : which == "stepped"  ? stepped()
                               : which == "plate 6"  ? plate(6)
                               : which == "plate 12" ? plate(12)
                               : which == "plate 24" ? plate(24)
                                                     : box(which == "leaning");
    return write(solid, which.c_str());
  });
}

Outcome<std::string> build_again(const Loaded& loaded, std::uint64_t shuffle, bool splines) {
  return guarded("the model could not be written again", [&] {
    TopoDS_Shape solid = *static_cast<TopoDS_Shape*>(loaded.solid.get());
    if (splines) solid = BRepBuilderAPI_NurbsConvert(solid, Standard_True).Shape();
    if (shuffle != 0) solid = shuffled(solid, shuffle);
    return write(only_solid(solid), "again");
  });
}

Outcome<std::string> write_again(const Loaded& loaded, const std::string& product, bool inch) {
  return guarded("the model could not be written", [&] {
    return write(only_solid(*static_cast<TopoDS_Shape*>(loaded.solid.get())), product.c_str(), "",
                 inch ? "INCH" : "MM");
  });
}

}  // namespace fettle::solid
