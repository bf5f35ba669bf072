#!/usr/bin/env python3
"""Writes block.stp: a 60 x 40 x 20 mm block with a through bore of 10 mm and a threaded bore M6 (bore of 5 mm), with
sizes, tolerances and datums bound to the faces in every way that real exporters use. Made up; a seed for spoilt files.
Run in this folder: ./make_block.py > block.stp"""
import math

lines = []


def new(text):
    lines.append(text)
    return f"#{9 + len(lines)}"


def point(p):
    return new("CARTESIAN_POINT('',(%s))" % ",".join(real(x) for x in p))


def direction(d):
    return new("DIRECTION('',(%s))" % ",".join(real(x) for x in d))


def real(x):
    text = repr(float(x) + 0.0)
    return text[:-1] if text.endswith(".0") else text.upper()


def axes(p, z, x):
    return new(f"AXIS2_PLACEMENT_3D('',{point(p)},{direction(z)},{direction(x)})")


def vertex(p):
    return new(f"VERTEX_POINT('',{point(p)})"), p


def line(a, b):
    d = [b[1][i] - a[1][i] for i in range(3)]
    length = math.sqrt(sum(x * x for x in d))
    vector = new(f"VECTOR('',{direction([x / length for x in d])},1.)")
    return new(f"EDGE_CURVE('',{a[0]},{b[0]},{new(f'LINE({chr(39) * 2},{point(a[1])},{vector})')},.T.)")


def arc(a, b, centre, r):
    circle = new(f"CIRCLE('',{axes(centre, (0, 0, 1), (1, 0, 0))},{real(r)})")
    return new(f"EDGE_CURVE('',{a[0]},{b[0]},{circle},.T.)")


def loop(edges):
    parts = [new(f"ORIENTED_EDGE('',*,*,{e},{'.T.' if forward else '.F.'})") for e, forward in edges]
    return new("EDGE_LOOP('',(%s))" % ",".join(parts))


def face(bounds, surface, sense=".T."):
    out = []
    for i, edges in enumerate(bounds):
        out.append(new(f"{'FACE_OUTER_BOUND' if i == 0 else 'FACE_BOUND'}('',{loop(edges)},.T.)"))
    return new("ADVANCED_FACE('',(%s),%s,%s)" % (",".join(out), surface, sense))


def plane(p, z, x):
    return new(f"PLANE('',{axes(p, z, x)})")


W, D, H = 60, 40, 20
low = [vertex(p) for p in ((0, 0, 0), (W, 0, 0), (W, D, 0), (0, D, 0))]
top = [vertex(p) for p in ((0, 0, H), (W, 0, H), (W, D, H), (0, D, H))]
low_edges = [line(low[i], low[(i + 1) % 4]) for i in range(4)]
top_edges = [line(top[i], top[(i + 1) % 4]) for i in range(4)]
uprights = [line(low[i], top[i]) for i in range(4)]


class Bore:
    def __init__(self, x, y, r):
        ends = []
        for z in (0, H):
            a, b = vertex((x + r, y, z)), vertex((x - r, y, z))
            ends.append((a, b, arc(a, b, (x, y, z), r), arc(b, a, (x, y, z), r)))
        (la, lb, self.low1, self.low2), (ta, tb, self.top1, self.top2) = ends
        ua, ub = line(la, ta), line(lb, tb)
        surface = [new(f"CYLINDRICAL_SURFACE('',{axes((x, y, 0), (0, 0, 1), (1, 0, 0))},{real(r)})") for _ in range(2)]
        self.faces = [face([[(ua, True), (self.top1, True), (ub, False), (self.low1, False)]], surface[0], ".F."),
                      face([[(ub, True), (self.top2, True), (ua, False), (self.low2, False)]], surface[1], ".F.")]


bores = [Bore(20, 20, 5), Bore(45, 20, 2.5)]
top_face = face([[(e, True) for e in top_edges]] + [[(b.top2, False), (b.top1, False)] for b in bores], plane((0, 0, H), (0, 0, 1), (1, 0, 0)))
low_face = face([[(e, False) for e in reversed(low_edges)]] + [[(b.low1, True), (b.low2, True)] for b in bores], plane((0, 0, 0), (0, 0, -1), (1, 0, 0)))
normals = [(0, -1, 0), (1, 0, 0), (0, 1, 0), (-1, 0, 0)]
sides = [face([[(low_edges[i], True), (uprights[(i + 1) % 4], True), (top_edges[i], False), (uprights[i], False)]],
              plane(low[i][1], normals[i], (0, 0, 1))) for i in range(4)]
shell = new("CLOSED_SHELL('',(%s))" % ",".join([top_face, low_face] + sides + bores[0].faces + bores[1].faces))
solid = new(f"MANIFOLD_SOLID_BREP('block',{shell})")

mm = new("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))")
rad = new("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
sr = new("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
inch = new(f"(CONVERSION_BASED_UNIT('INCH',{new(f'LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),{mm})')})LENGTH_UNIT()NAMED_UNIT({new('DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)')}))")
small = new(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-05),{mm},'distance_accuracy_value','')")
context = new(f"(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({small}))GLOBAL_UNIT_ASSIGNED_CONTEXT(({mm},{rad},{sr}))REPRESENTATION_CONTEXT('','3D'))")
brep = new(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({axes((0, 0, 0), (0, 0, 1), (1, 0, 0))},{solid}),{context})")
application = new("APPLICATION_CONTEXT('managed model based 3d engineering')")
new(f"APPLICATION_PROTOCOL_DEFINITION('international standard','ap242_managed_model_based_3d_engineering',2020,{application})")
product = new(f"PRODUCT('block','block','',({new(f'PRODUCT_CONTEXT({chr(39) * 2},{application},{chr(39)}mechanical{chr(39)})')}))")
definition = new(f"PRODUCT_DEFINITION('design','',{new(f'PRODUCT_DEFINITION_FORMATION({chr(39) * 2},{chr(39) * 2},{product})')},{new(f'PRODUCT_DEFINITION_CONTEXT({chr(39)}part definition{chr(39)},{application},{chr(39)}design{chr(39)})')})")
shape = new(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
new(f"SHAPE_DEFINITION_REPRESENTATION({shape},{brep})")


def length(value, unit=mm, name=None, decimals=None):
    if name is None and decimals is None:
        return new(f"LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE({real(value)}),{unit})")
    form = "" if decimals is None else "QUALIFIED_REPRESENTATION_ITEM((%s))" % new(f"VALUE_FORMAT_TYPE_QUALIFIER('NR2 2.{decimals}')")
    return new(f"(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE({real(value)}),{unit}){form}REPRESENTATION_ITEM('{name or ''}'))")


def bind(aspect, items):
    for item in items:
        new(f"GEOMETRIC_ITEM_SPECIFIC_USAGE('','',{aspect},{brep},{item})")
    return aspect


def aspect(items, name=""):
    """One item: bound straight. Several: a composite of aspects."""
    if len(items) == 1:
        return bind(new(f"SHAPE_ASPECT('{name}','',{shape},.T.)"), items)
    whole = new(f"COMPOSITE_SHAPE_ASPECT('{name}','multiple elements',{shape},.T.)")
    for item in items:
        new(f"SHAPE_ASPECT_RELATIONSHIP('','',{whole},{aspect([item])})")
    return whole


def size(on, name, items):
    d = new(f"DIMENSIONAL_SIZE({on},'{name}')")
    new(f"DIMENSIONAL_CHARACTERISTIC_REPRESENTATION({d},{new('SHAPE_DIMENSION_REPRESENTATION(%s,(%s),%s)' % (chr(39) * 2, ','.join(items), context))})")
    return d


def plus_minus(d, low, high, unit=mm):
    new(f"PLUS_MINUS_TOLERANCE({new(f'TOLERANCE_VALUE({length(low, unit)},{length(high, unit)})')},{d})")


def location(a, b, items):
    d = new(f"DIMENSIONAL_LOCATION('linear distance','',{a},{b})")
    new(f"DIMENSIONAL_CHARACTERISTIC_REPRESENTATION({d},{new('SHAPE_DIMENSION_REPRESENTATION(%s,(%s),%s)' % (chr(39) * 2, ','.join(items), context))})")
    return d


# datums: A by the feature, B by a set of faces, C by the datum itself
feature_a = bind(new(f"DATUM_FEATURE('A','',{shape},.T.)"), [low_face])
datum_a = new(f"DATUM('','',{shape},.F.,'A')")
new(f"SHAPE_ASPECT_RELATIONSHIP('','',{feature_a},{datum_a})")
feature_b = new(f"DATUM_FEATURE('B','',{shape},.T.)")
new(f"ITEM_IDENTIFIED_REPRESENTATION_USAGE('','',{feature_b},{brep},SET_REPRESENTATION_ITEM(({','.join(bores[0].faces)})))")
datum_b = new(f"DATUM('','',{shape},.F.,'B')")
new(f"SHAPE_ASPECT_RELATIONSHIP('','',{feature_b},{datum_b})")
datum_c = bind(new(f"DATUM('','',{shape},.F.,'C')"), [sides[3]])
target = bind(new(f"DATUM_TARGET('','area',{shape},.T.,'1')"), [sides[0]])
datum_d = new(f"DATUM('','',{shape},.F.,'D')")
new(f"SHAPE_ASPECT_RELATIONSHIP('','datum target',{target},{datum_d})")


def compartment(datum, modifiers="$"):
    return new(f"DATUM_REFERENCE_COMPARTMENT('','',{shape},.F.,{datum},{modifiers})")


def system(*parts):
    return new("DATUM_SYSTEM('','',%s,.F.,(%s))" % (shape, ",".join(parts)))


mmc = "(SIMPLE_DATUM_REFERENCE_MODIFIER(.MAXIMUM_MATERIAL_REQUIREMENT.))"
abc = system(compartment(datum_a), compartment(datum_b, mmc), compartment(datum_c))
common = compartment("COMMON_DATUM_LIST((%s,%s))" % tuple(
    new(f"DATUM_REFERENCE_ELEMENT('','',{shape},.F.,{d},{mmc})") for d in (datum_c, datum_d)))

bore = aspect(bores[0].faces, "bore")
d1 = size(bore, "diameter", [length(10, name="nominal value", decimals=3)])
plus_minus(d1, 0.025, 0.039)
d2 = size(bore, "diameter", [length(9.98, name="lower limit"), length(10, name="nominal value"), length(10.04, name="upper limit")])
d3 = size(aspect(bores[0].faces), "diameter", [length(10, name="nominal value")])
new(f"PLUS_MINUS_TOLERANCE({new(f'LIMITS_AND_FITS({chr(39)}G6{chr(39)},{chr(39)}hole{chr(39)},{chr(39) * 2},{chr(39) * 2})')},{d3})")
note = new("DESCRIPTIVE_REPRESENTATION_ITEM('dimensional note','theoretical')")
location(aspect([sides[3]]), bore, [length(20, name="nominal value"), new(f"COMPOUND_REPRESENTATION_ITEM('',SET_REPRESENTATION_ITEM(({note})))")])
height = location(aspect([low_face]), aspect([top_face]), [length(20 / 25.4, inch, "nominal value", 4)])
plus_minus(height, -0.2, -0.1)
callout = new("DESCRIPTIVE_REPRESENTATION_ITEM('equivalent unicode string','DIM\\\\w2X \\X2\\2300\\X0\\10')")
new(f"PROPERTY_DEFINITION_REPRESENTATION({new(f'PROPERTY_DEFINITION({chr(39)}pmi validation property{chr(39)},{chr(39) * 2},{d1})')},{new(f'REPRESENTATION({chr(39) * 2},({callout}),{context})')})")

# a cosmetic thread: a circle of 6 mm about the bore of 5 mm
circle = new(f"CIRCLE('',{axes((45, 20, H), (0, 0, 1), (1, 0, 0))},3.)")
curve_set = new(f"GEOMETRIC_CURVE_SET('thread',({circle}))")
new(f"GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION('',({curve_set}),{context})")
thread = aspect([curve_set])
size(thread, "diameter", [length(6, name="nominal value")])

# tolerances: simple and complex forms, composite, projected, per area, whole part, on a size
pos = new(f"(GEOMETRIC_TOLERANCE('','',{length(0.1)},{bore})GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE(({abc}))GEOMETRIC_TOLERANCE_WITH_MODIFIERS((.MAXIMUM_MATERIAL_REQUIREMENT.))POSITION_TOLERANCE())")
new(f"TOLERANCE_ZONE('','',{shape},.F.,({pos}),{new(f'TOLERANCE_ZONE_FORM({chr(39)}cylindrical or circular{chr(39)})')})")
pos2 = new(f"(GEOMETRIC_TOLERANCE('','',{length(0.05, name='')},{bore})GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE(({system(compartment(datum_a))}))POSITION_TOLERANCE())")
new(f"GEOMETRIC_TOLERANCE_RELATIONSHIP('composite','',{pos},{pos2})")
pos3 = new(f"(GEOMETRIC_TOLERANCE('','',{length(0.2)},{thread})GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE(({system(compartment(datum_a), common)}))POSITION_TOLERANCE())")
zone = new(f"TOLERANCE_ZONE('','',{shape},.F.,({pos3}),{new(f'TOLERANCE_ZONE_FORM({chr(39)}cylindrical or circular{chr(39)})')})")
new(f"PROJECTED_ZONE_DEFINITION({zone},(),{feature_a},{length(12)})")
new(f"PERPENDICULARITY_TOLERANCE('','',{length(0.04)},{d1},({system(compartment(datum_a))}))")
new(f"(FLATNESS_TOLERANCE()GEOMETRIC_TOLERANCE('','',{length(0.002, inch, '', 3)},{aspect([top_face])})GEOMETRIC_TOLERANCE_WITH_DEFINED_AREA_UNIT(.SQUARE.,$)GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT({length(10)}))")
new(f"SURFACE_PROFILE_TOLERANCE('','',{length(0.8)},{shape})")
mesh = new("COORDINATES_LIST('',4,((0.,0.,21.),(1.,0.,21.),(1.,1.,21.),(0.,1.,21.)))")
new(f"TESSELLATED_CURVE_SET('',{mesh},((1,2,3,4,1)))")

print("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('made-up block'),'2;1');")
print("FILE_NAME('block.stp','2024-01-01T00:00:00',(''),(''),'','','');")
print("FILE_SCHEMA(('AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 3 1 4 }'));\nENDSEC;\nDATA;")
for i, text in enumerate(lines):
    print(f"#{10 + i}={text};")
print("ENDSEC;\nEND-ISO-10303-21;")
