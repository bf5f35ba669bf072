#pragma once
// Plain structs to bytes and back, for the pipe between a program and its kernel child: both are the same executable,
// so the layout is the machine's own. Every length is checked against what is left; a short or damaged answer is
// refused.
#include <array>
#include <cstdint>
#include <cstring>
#include <string>
#include <type_traits>
#include <vector>

#include "solid/raw.h"
#include "solid/solid.h"

namespace fettle::solid::codec {

// One line per struct: its fields in order.
#define FETTLE_FIELDS(T, ...)     \
  template <class F>              \
  inline void fields(T& v, F f) { \
    f(__VA_ARGS__);               \
  }
FETTLE_FIELDS(Vec3, v.x, v.y, v.z)
FETTLE_FIELDS(Box, v.lo, v.hi)
FETTLE_FIELDS(Sample, v.point, v.normal, v.area)
FETTLE_FIELDS(Face, v.id, v.kind, v.concave, v.point, v.axis, v.radius, v.minor_radius, v.semi_angle, v.along_lo,
              v.along_hi, v.area, v.centroid, v.box, v.outline, v.samples, v.neighbours)
FETTLE_FIELDS(Segment, v.kind, v.d0, v.d1, v.length, v.semi_angle, v.full_circle, v.faces)
FETTLE_FIELDS(Hole, v.id, v.p0, v.p1, v.dir, v.end0, v.end1, v.side_openings, v.spline_rims, v.profile, v.diameter,
              v.depth, v.tip_angle, v.through, v.stepped, v.counterbored, v.countersunk)
FETTLE_FIELDS(Round, v.id, v.p0, v.p1, v.dir, v.radius, v.turn, v.concave, v.faces)
FETTLE_FIELDS(Boss, v.id, v.p0, v.p1, v.dir, v.diameter, v.faces)
FETTLE_FIELDS(PlaneFeature, v.id, v.normal, v.offset, v.area, v.centroid, v.box, v.floor, v.faces)
FETTLE_FIELDS(Pocket, v.id, v.centre, v.up, v.along, v.length, v.width, v.depth, v.corner_radius, v.floor_radius,
              v.open_sides, v.slot, v.through, v.floor, v.walls)
FETTLE_FIELDS(Groove, v.id, v.hole, v.p0, v.p1, v.dir, v.diameter, v.bore, v.width, v.inside, v.faces)
FETTLE_FIELDS(Way, v.name, v.box_fits, v.same, v.breakers)
FETTLE_FIELDS(Cut, v.point, v.normal)
FETTLE_FIELDS(Wire, v.points, v.area)
FETTLE_FIELDS(Section, v.cut, v.wires)
FETTLE_FIELDS(Mesh, v.points, v.triangles, v.face_ids)
FETTLE_FIELDS(Model, v.unit, v.volume, v.area, v.centroid, v.inertia, v.mass, v.stated_volume, v.box, v.faces, v.planes,
              v.holes, v.rounds, v.bosses, v.pockets, v.grooves, v.ways, v.sections, v.mesh)
FETTLE_FIELDS(ReadOptions, v.density, v.unit_if_none, v.samples_per_face, v.chord, v.mesh_chord, v.mesh_angle, v.cuts,
              v.cpu_seconds, v.wall_seconds, v.memory_bytes)
FETTLE_FIELDS(RawPlug, v.from, v.to, v.diameter)
FETTLE_FIELDS(RawRaise, v.floors, v.up, v.depth)
FETTLE_FIELDS(RawFill, v.name, v.faces, v.plugs, v.raises)
FETTLE_FIELDS(RawFace, v.name, v.point, v.normal, v.stock)
FETTLE_FIELDS(RawCore, v.name, v.from, v.to, v.diameter, v.to_diameter)
FETTLE_FIELDS(RawOutside, v.there, v.radius, v.low_x, v.high_x, v.low_y, v.high_y, v.draft, v.parting)
FETTLE_FIELDS(RawWish, v.pose.R, v.pose.t, v.box, v.product, v.fills, v.outside, v.faces, v.cores)
FETTLE_FIELDS(RawModel, v.step, v.volume, v.not_made)
FETTLE_FIELDS(Where, v.file, v.line, v.column)
FETTLE_FIELDS(Problem, v.fault, v.where, v.what, v.found, v.expected, v.nearest)
#undef FETTLE_FIELDS

struct Writer {
  std::string out;
  template <class T>
  void put(const T& v) {
    if constexpr (std::is_arithmetic_v<T> || std::is_enum_v<T>) {
      const char* raw = reinterpret_cast<const char*>(&v);
      out.append(raw, sizeof v);
    } else {
      fields(const_cast<T&>(v), [this](auto&... each) { (this->put(each), ...); });
    }
  }
  void put(const std::string& v) {
    put(static_cast<std::uint64_t>(v.size()));
    out += v;
  }
  template <class T>
  void put(const std::vector<T>& v) {
    put(static_cast<std::uint64_t>(v.size()));
    for (const T& each : v) put(each);
  }
  template <class T, std::size_t N>
  void put(const std::array<T, N>& v) {
    for (const T& each : v) put(each);
  }
};

struct Reader {
  std::string_view in;
  bool good = true;
  template <class T>
  void get(T& v) {
    if constexpr (std::is_arithmetic_v<T> || std::is_enum_v<T>) {
      if (!good || in.size() < sizeof v) {
        good = false;
        return;
      }
      std::memcpy(&v, in.data(), sizeof v);
      in.remove_prefix(sizeof v);
    } else {
      fields(v, [this](auto&... each) { (this->get(each), ...); });
    }
  }
  std::uint64_t length() {
    std::uint64_t n = 0;
    get(n);
    if (n > in.size()) good = false;  // every element takes at least one byte
    return good ? n : 0;
  }
  void get(std::string& v) {
    const std::uint64_t n = length();
    v.assign(in.substr(0, n));
    in.remove_prefix(n);
  }
  template <class T>
  void get(std::vector<T>& v) {
    const std::uint64_t n = length();
    v.clear();
    for (std::uint64_t i = 0; i < n && good; ++i) get(v.emplace_back());
  }
  template <class T, std::size_t N>
  void get(std::array<T, N>& v) {
    for (T& each : v) get(each);
  }
};

template <class T>
std::string encode(const T& v) {
  Writer w;
  w.put(v);
  return std::move(w.out);
}

/// False when the bytes do not hold exactly one T.
template <class T>
bool decode(std::string_view bytes, T& v) {
  Reader r{bytes};
  r.get(v);
  return r.good && r.in.empty();
}

}  // namespace fettle::solid::codec
