// STEP text to one sound solid. Kernel types live in kernel_*.cpp only.
#include <BRepCheck_Analyzer.hxx>
#include <BRepGProp.hxx>
#include <BRep_Tool.hxx>
#include <GProp_GProps.hxx>
#include <GeomAdaptor_Surface.hxx>
#include <Interface_Check.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <STEPControl_Reader.hxx>
#include <Standard_Failure.hxx>
#include <StepBasic_ConversionBasedUnitAndLengthUnit.hxx>
#include <StepBasic_DerivedUnit.hxx>
#include <StepBasic_DerivedUnitElement.hxx>
#include <StepBasic_MeasureValueMember.hxx>
#include <StepBasic_MeasureWithUnit.hxx>
#include <StepBasic_SiUnitAndLengthUnit.hxx>
#include <StepData_StepModel.hxx>
#include <StepGeom_ConicalSurface.hxx>
#include <StepGeom_CylindricalSurface.hxx>
#include <StepGeom_GeomRepContextAndGlobUnitAssCtxAndGlobUncertaintyAssCtx.hxx>
#include <StepGeom_GeometricRepresentationContextAndGlobalUnitAssignedContext.hxx>
#include <StepGeom_SphericalSurface.hxx>
#include <StepGeom_ToroidalSurface.hxx>
#include <StepRepr_GlobalUnitAssignedContext.hxx>
#include <StepRepr_MeasureRepresentationItem.hxx>
#include <StepRepr_RepresentationItem.hxx>
#include <StepShape_BrepWithVoids.hxx>
#include <StepShape_ClosedShell.hxx>
#include <StepShape_Face.hxx>
#include <StepShape_FaceSurface.hxx>
#include <StepShape_ManifoldSolidBrep.hxx>
#include <StepShape_ShapeRepresentation.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_DataMapOfShapeInteger.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS.hxx>
#include <TransferBRep.hxx>
#include <Transfer_TransientProcess.hxx>
#include <XSControl_TransferReader.hxx>
#include <XSControl_WorkSession.hxx>
#include <cmath>
#include <cstring>
#include <sstream>

#include "base/text.h"
#include "solid/kernel.h"

namespace fettle::solid {
namespace {

Problem in_file(const std::string& file, std::string what, std::string found = {}, std::string expected = {}) {
  Problem p = bad(std::move(what), std::move(found), std::move(expected));
  p.where.file = file;
  return p;
}

std::string label(const Handle(Interface_InterfaceModel) & model, const Handle(Standard_Transient) & entity) {
  return model->StringLabel(entity)->ToCString();
}

int number(const std::string& label) { return label.size() > 1 && label[0] == '#' ? std::atoi(label.c_str() + 1) : 0; }

bool starts(const char* s, const char* head) { return std::strncmp(s, head, std::strlen(head)) == 0; }

/// Kernel types of drawing sizes that stand among the shape types; their faults cannot reach the geometry.
bool drawing_only(const char* type) {
  for (const char* head :
       {"StepShape_Dimensional", "StepShape_ShapeDimension", "StepShape_Tolerance", "StepShape_Limits",
        "StepShape_PlusMinus", "StepShape_Measure", "StepShape_Qualified", "StepShape_TypeQualifier",
        "StepShape_ValueFormat", "StepShape_PrecisionQualifier", "StepShape_Angular"})
    if (starts(type, head)) return true;
  return false;
}

/// Radii that would make a face vanish without a word.
bool vanishing(const Handle(Standard_Transient) & e) {
  const auto gone = [](double r) { return !(r > 1e-9) || !std::isfinite(r); };
  if (const auto c = Handle(StepGeom_CylindricalSurface)::DownCast(e); !c.IsNull()) return gone(c->Radius());
  if (const auto s = Handle(StepGeom_SphericalSurface)::DownCast(e); !s.IsNull()) return gone(s->Radius());
  if (const auto t = Handle(StepGeom_ToroidalSurface)::DownCast(e); !t.IsNull())
    return gone(t->MinorRadius()) || gone(t->MajorRadius());
  if (const auto k = Handle(StepGeom_ConicalSurface)::DownCast(e); !k.IsNull())
    return !(k->Radius() >= 0) || gone(k->SemiAngle());
  return false;
}

/// The check that stopped every crash seen: any geometry or shape entity that failed its own reading.
Outcome<bool> entities_sound(const Handle(StepData_StepModel) & model, const std::string& file) {
  for (int i = 1; i <= model->NbEntities(); ++i) {
    const Handle(Standard_Transient) e = model->Value(i);
    if (e.IsNull()) return in_file(file, "an entity of the model could not be read", "entity " + std::to_string(i));
    const char* type = e->DynamicType()->Name();
    if (!starts(type, "StepGeom_") && !starts(type, "StepShape_")) continue;
    if (drawing_only(type)) continue;
    for (const bool syntax : {true, false})
      if (const auto check = model->Check(i, syntax); !check.IsNull() && check->HasFailed())
        return in_file(file, "the geometry is damaged: " + std::string(check->CFail(1)), label(model, e),
                       "whole and well-formed entities");
    if (vanishing(e))
      return in_file(file, "a round surface without a radius above zero", label(model, e), "a positive, finite radius");
  }
  return true;
}

/// Metres per unit, 0 when unknown; `word` gets the unit's name.
double length_factor(const Handle(StepBasic_NamedUnit) & unit, std::string& word, int depth = 0) {
  if (unit.IsNull() || depth > 4) return 0;
  if (const auto si = Handle(StepBasic_SiUnitAndLengthUnit)::DownCast(unit); !si.IsNull()) {
    if (!si->HasPrefix()) return word = "m", 1;
    switch (si->Prefix()) {
      case StepBasic_spKilo:
        return word = "km", 1e3;
      case StepBasic_spDeci:
        return word = "dm", 1e-1;
      case StepBasic_spCenti:
        return word = "cm", 1e-2;
      case StepBasic_spMilli:
        return word = "mm", 1e-3;
      case StepBasic_spMicro:
        return word = "um", 1e-6;
      default:
        return 0;
    }
  }
  const auto based = Handle(StepBasic_ConversionBasedUnitAndLengthUnit)::DownCast(unit);
  if (based.IsNull() || based->ConversionFactor().IsNull()) return 0;
  std::string inner;
  const double factor = based->ConversionFactor()->ValueComponent() *
                        length_factor(based->ConversionFactor()->UnitComponent().NamedUnit(), inner, depth + 1);
  if (std::fabs(factor - 0.0254) < 1e-9) word = "in";
  else if (std::fabs(factor - 0.3048) < 1e-8) word = "ft";
  else if (std::fabs(factor - 1e-3) < 1e-12) word = "mm";
  else if (std::fabs(factor - 1) < 1e-12) word = "m";
  else if (!based->Name().IsNull()) word = base::lower(based->Name()->ToCString());
  return factor;
}

std::string context_unit(const Handle(StepRepr_RepresentationContext) & context) {
  Handle(StepRepr_GlobalUnitAssignedContext) units;
  if (const auto a = Handle(StepGeom_GeometricRepresentationContextAndGlobalUnitAssignedContext)::DownCast(context);
      !a.IsNull())
    units = a->GlobalUnitAssignedContext();
  else if (const auto b = Handle(StepGeom_GeomRepContextAndGlobUnitAssCtxAndGlobUncertaintyAssCtx)::DownCast(context);
           !b.IsNull())
    units = b->GlobalUnitAssignedContext();
  else units = Handle(StepRepr_GlobalUnitAssignedContext)::DownCast(context);
  std::string word;
  if (units.IsNull() || units->Units().IsNull()) return word;
  for (int i = 1; i <= units->NbUnits(); ++i)
    if (length_factor(units->UnitsValue(i), word) > 0) return word;
  return {};
}

/// The length unit of the representation that holds the solid; empty when the file states none.
std::string unit_of(const Handle(StepData_StepModel) & model, const Handle(StepShape_ManifoldSolidBrep) & brep) {
  std::string any;
  for (int i = 1; i <= model->NbEntities(); ++i) {
    const auto rep = Handle(StepShape_ShapeRepresentation)::DownCast(model->Value(i));
    if (rep.IsNull() || rep->Items().IsNull()) continue;
    std::string word = context_unit(rep->ContextOfItems());
    for (int k = 1; k <= rep->NbItems(); ++k)
      if (rep->ItemsValue(k) == brep) return word;
    if (any.empty()) any = word;
  }
  return any;
}

/// What the file itself says the volume is, m3; 0 when it says nothing usable.
double stated_volume(const Handle(StepData_StepModel) & model) {
  for (int i = 1; i <= model->NbEntities(); ++i) {
    const auto item = Handle(StepRepr_MeasureRepresentationItem)::DownCast(model->Value(i));
    if (item.IsNull() || item->Measure().IsNull()) continue;
    const auto member = item->Measure()->ValueComponentMember();
    if (member.IsNull() || std::strcmp(member->Name(), "VOLUME_MEASURE") != 0) continue;
    const double value = item->Measure()->ValueComponent();
    const auto unit = item->Measure()->UnitComponent().DerivedUnit();
    if (!(value > 0) || unit.IsNull() || unit->NbElements() != 1) continue;
    std::string word;
    const double factor = length_factor(unit->ElementsValue(1)->Unit(), word);
    if (factor > 0 && std::fabs(unit->ElementsValue(1)->Exponent() - 3) < 1e-9) return value * factor * factor * factor;
  }
  return 0;
}

void shell_faces(const Handle(StepData_StepModel) & model, const Handle(StepShape_ConnectedFaceSet) & shell,
                 std::vector<int>& ids) {
  if (shell.IsNull() || shell->CfsFaces().IsNull()) return;
  for (int i = 1; i <= shell->NbCfsFaces(); ++i) ids.push_back(number(label(model, shell->CfsFacesValue(i))));
}

bool has_splines(const TopoDS_Shape& solid) {
  for (TopExp_Explorer x(solid, TopAbs_FACE); x.More(); x.Next())
    if (GeomAdaptor_Surface(BRep_Tool::Surface(TopoDS::Face(x.Current()))).GetType() > GeomAbs_Torus) return true;
  return false;
}

}  // namespace

Outcome<Loaded> load_step(const std::string& text, const std::string& file, const std::string& unit_if_none) try {
  Message::DefaultMessenger()->ChangePrinters().Clear();
  STEPControl_Reader reader;
  std::istringstream in(text);
  if (reader.ReadStream("model", in) != IFSelect_RetDone)
    return in_file(file, "this is not STEP text that can be read", "", "an ISO 10303-21 file (.step, .stp)");
  const auto model = reader.StepModel();
  if (model.IsNull() || model->NbEntities() == 0) return in_file(file, "the STEP file holds no data");
  if (const auto sound = entities_sound(model, file); !sound) return sound.problems();

  reader.TransferRoots();
  const TopoDS_Shape all = reader.OneShape();
  TopTools_IndexedMapOfShape solids;
  if (!all.IsNull()) TopExp::MapShapes(all, TopAbs_SOLID, solids);
  if (solids.Extent() == 0) {
    const bool faces = !all.IsNull() && TopExp_Explorer(all, TopAbs_FACE).More();
    return in_file(file, "the file holds no solid", faces ? "surfaces only, or an open shell" : "no shape",
                   "one closed solid");
  }
  if (solids.Extent() > 1)
    return in_file(file, "the file holds more than one solid", std::to_string(solids.Extent()) + " solids",
                   "one solid: export one part alone");
  const TopoDS_Shape solid = solids(1);

  // Join by number: every face of the solid back to its entity, and every face the file lists in the solid.
  auto ids = std::make_shared<TopTools_DataMapOfShapeInteger>();
  TopTools_IndexedMapOfShape faces;
  TopExp::MapShapes(solid, TopAbs_FACE, faces);
  std::vector<int> listed;
  Handle(StepShape_ManifoldSolidBrep) brep;
  const auto process = reader.WS()->TransferReader()->TransientProcess();
  for (int i = 1; i <= process->NbMapped(); ++i) {
    const Handle(Standard_Transient) e = process->Mapped(i);
    if (e.IsNull()) continue;
    if (const auto b = Handle(StepShape_ManifoldSolidBrep)::DownCast(e); !b.IsNull()) {
      brep = b;
      shell_faces(model, b->Outer(), listed);
      if (const auto v = Handle(StepShape_BrepWithVoids)::DownCast(e); !v.IsNull() && !v->Voids().IsNull())
        for (int k = 1; k <= v->NbVoids(); ++k) shell_faces(model, v->VoidsValue(k), listed);
    }
    if (Handle(StepShape_FaceSurface)::DownCast(e).IsNull()) continue;
    const TopoDS_Shape shape = TransferBRep::ShapeResult(process, e);
    if (shape.IsNull()) continue;
    for (TopExp_Explorer x(shape, TopAbs_FACE); x.More(); x.Next())
      if (faces.Contains(x.Current())) ids->Bind(x.Current(), number(label(model, e)));
  }
  for (int i = 1; i <= faces.Extent(); ++i)
    if (!ids->IsBound(faces(i)))
      return in_file(file, "a face of the solid has no entity in the file", "face " + std::to_string(i));
  std::vector<int> found;
  for (TopTools_DataMapOfShapeInteger::Iterator it(*ids); it.More(); it.Next()) found.push_back(it.Value());
  std::sort(found.begin(), found.end());
  for (const int id : listed)
    if (!std::binary_search(found.begin(), found.end(), id))
      return in_file(file, "a face of the solid was lost in reading", "#" + std::to_string(id), "a sound face");

  if (!BRepCheck_Analyzer(solid).IsValid())
    return in_file(file, "the solid is not sound (it cuts itself, or its faces do not close)", "",
                   "a valid closed solid");
  Loaded out;
  out.solid = std::make_shared<TopoDS_Shape>(solid);
  out.face_ids = ids;
  out.unit = unit_of(model, brep);
  if (out.unit.empty()) {
    if (unit_if_none.empty()) return in_file(file, "the file states no length unit", "", "say which: mm, in or m");
    out.unit = unit_if_none;  // the kernel took bare numbers as millimetres
    out.scale = unit_if_none == "in" ? 0.0254 : unit_if_none == "m" ? 1.0 : 1e-3;
  }
  out.stated_volume = stated_volume(model);
  return out;
} catch (const Standard_Failure& e) {
  return in_file(file, "the geometry kernel gave up on this file", e.DynamicType()->Name(), "a sound solid");
} catch (const std::bad_alloc&) {
  throw;
} catch (const std::exception& e) {
  return in_file(file, "the geometry kernel gave up on this file", e.what(), "a sound solid");
}

Outcome<bool> weigh(const Loaded& loaded, const std::string& file, Model& model) try {
  const TopoDS_Shape& solid = *static_cast<TopoDS_Shape*>(loaded.solid.get());
  const double s = loaded.scale;
  GProp_GProps props;
  // Plain quadrature is exact enough on elementary faces, but was seen 6e-4 off on a part made of splines alone.
  if (has_splines(solid)) {
    if (BRepGProp::VolumeProperties(solid, props, 1e-6) < 0) return in_file(file, "the solid's volume cannot be found");
  } else {
    BRepGProp::VolumeProperties(solid, props);
  }
  model.unit = loaded.unit;
  model.volume = props.Mass() * s * s * s;
  model.stated_volume = loaded.stated_volume;
  const gp_Pnt c = props.CentreOfMass();
  model.centroid = {c.X() * s, c.Y() * s, c.Z() * s};
  const gp_Mat inertia = props.MatrixOfInertia();
  for (std::size_t i = 0; i < 9; ++i)
    model.inertia[i] = inertia(static_cast<int>(i / 3) + 1, static_cast<int>(i % 3) + 1) * s * s * s * s * s;
  if (!(model.volume > 0) || !std::isfinite(model.volume))
    return in_file(file, "the solid's volume is not positive", base::shortest(model.volume) + " m3",
                   "a closed solid, faces outward");
  if (model.stated_volume > 0 && !(std::fabs(model.volume - model.stated_volume) <= 1e-3 * model.stated_volume))
    return in_file(file, "the solid's volume is not what the file itself states",
                   base::fixed(model.volume * 1e6, 3) + " cm3", base::fixed(model.stated_volume * 1e6, 3) + " cm3");
  return true;
} catch (const Standard_Failure& e) {
  return in_file(file, "the solid cannot be measured", e.DynamicType()->Name(), "a sound solid");
}

}  // namespace fettle::solid
