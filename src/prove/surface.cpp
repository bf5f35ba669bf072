#include "prove/surface.h"

#include <algorithm>
#include <cmath>

namespace fettle::prove {

using frame::Vec3;

namespace {

constexpr double mm = 1e-3, pi = 3.14159265358979323846, far = 1e9;
constexpr double step = 0.5 * mm;         ///< along the way
constexpr double thin = 0.05 * mm;        ///< less metal than that over the tip is not cut
constexpr double slack = 0.05 * mm;       ///< a program is nominal; walls are sampled between cells
constexpr double edge_before = 0.3 * mm;  ///< an edge that ends so far inside the casting was broken before
constexpr double edge_room =
    1.25 * mm;  ///< five cells of the field: with more stock beyond the drawing the edge is cut off later
constexpr double run_out = 1 * mm;  ///< the cutter is past the edge when nothing stands for so long

/// One straight piece of a way, across the ground.
struct Piece {
  Vec3 a, b;
  double length = 0, ux = 0, uy = 0;
  Piece(Vec3 from, Vec3 to) : a(from), b(to) {
    length = std::hypot(to.x - from.x, to.y - from.y);
    if (length > 1e-9) ux = (to.x - from.x) / length, uy = (to.y - from.y) / length;
    else length = 0;
  }
  /// `along` m on, `left` m beside it.
  Vec3 at(double along, double left) const {
    const double share = length > 0 ? along / length : 1;
    return {a.x + along * ux - left * uy, a.y + along * uy + left * ux, a.z + std::min(1.0, share) * (b.z - a.z)};
  }
};

class Looker {
 public:
  Looker(const Scene& s, int nest, const Skins& skins, const ToolShape& t, const removal::Field& f)
      : s_(s), nest_(nest), skins_(skins), t_(t), f_(f), r_(0.5 * t.cutter.diameter) {}

  Surfaced look(const program::Move& m) {
    const std::vector<Vec3> way = removal::chords(m, 20e-6);
    const bool straight = way.size() == 2;
    for (std::size_t i = 1; i < way.size(); ++i) {
      const Piece p(way[i - 1], way[i]);
      if (p.length == 0) {
        if (t_.axial && p.b.z < p.a.z) bored(p);
        continue;
      }
      if (t_.axial) continue;
      if (skins_.skin > 0) rubbed(p);
      if (straight && skins_.brittle && std::fabs(p.a.z - p.b.z) < 1e-6 && p.length > run_out) left(p);
    }
    return out_;
  }

 private:
  double top(const Vec3& p) const {
    const double c = std::floor((p.x - f_.left) / f_.cell), r = std::floor((p.y - f_.bottom) / f_.cell);
    if (!(c >= 0 && c < f_.columns && r >= 0 && r < f_.rows)) return removal::nothing;
    return f_.top[f_.index(static_cast<int>(c), static_cast<int>(r))] * removal::grain;
  }
  /// From the table to the frame of the nearest part of the nest.
  Vec3 local(const Vec3& p) const {
    const compose::NestPlace& n = s_.set_up.nests[static_cast<std::size_t>(nest_)];
    Vec3 d = p - n.at;
    const int row = std::max(1, s_.set_up.in_series);
    if (row > 1 && s_.set_up.series_pitch > 0) {
      const double k = std::clamp(std::round(d.y / s_.set_up.series_pitch + 0.5 * (row - 1)), 0.0, row - 1.0);
      d.y -= (k - 0.5 * (row - 1)) * s_.set_up.series_pitch;
    }
    const double c = std::cos(n.turn), q = std::sin(n.turn);
    return {c * d.x + q * d.y, -q * d.x + c * d.y, p.z};
  }
  const Shape& raw() const { return s_.raw[static_cast<std::size_t>(nest_)]; }

  void shallow(double depth, double weight, bool floor, const Vec3& at) {
    if (!(depth < skins_.skin - slack)) return;
    out_.rub += weight;
    if (depth < out_.depth) out_.depth = depth, out_.floor = floor, out_.at = at;
  }

  /// Walls that stand beside the way and floors under it, where this move is the one that lays them bare.
  void rubbed(const Piece& p) {
    const int n = std::max(1, static_cast<int>(std::ceil(p.length / step)));
    const double each = p.length / n;
    const bool even = std::fabs(p.a.z - p.b.z) < 1e-6 && t_.cutter.corner == 0;
    const double low = std::min(p.a.z, p.b.z);
    for (int i = 0; i < n; ++i) {
      const double along = (i + 0.5) * each;
      for (const double side : {-1.0, 1.0}) {
        const Vec3 wall = p.at(along, side * (r_ + 0.7 * f_.cell)), cut = p.at(along, side * (r_ - 0.7 * f_.cell));
        const double z = low + t_.cutter.corner + thin, stands = top(wall);
        if (!(stands > z) || !(top(cut) > z)) continue;
        const Vec3 q = local(wall);
        const double upper = t_.cutter.thickness > 0 ? std::min(stands, low + t_.cutter.thickness) : stands;
        shallow(under_wall(raw(), q.x, q.y, z, upper) - 0.7 * f_.cell, each, false, wall);
      }
      if (!even || t_.cutter.thickness > 0) continue;
      constexpr int across = 5;
      for (int k = 0; k < across; ++k) {
        const Vec3 q = p.at(along, r_ * (-0.8 + 0.4 * k));
        if (!(top(q) > p.a.z + thin)) continue;
        const Vec3 w = local(q);
        // Within a cell of a wall the field has metal where the shape has none.
        if (const double depth = under_top(raw(), w.x, w.y, p.a.z); depth > 0) shallow(depth, each / across, true, q);
      }
    }
  }
  /// A bar that goes down a bore: its wall, all round.
  void bored(const Piece& p) {
    if (!(skins_.skin > 0) || t_.tool == nullptr || t_.tool->kind.value != "boring tool") return;
    constexpr int round = 72;
    const double z = p.b.z + t_.cutter.corner + thin;
    for (int k = 0; k < round; ++k) {
      const double phi = 2 * pi * k / round, c = std::cos(phi), n = std::sin(phi);
      const Vec3 wall = p.b + Vec3{(r_ + 0.7 * f_.cell) * c, (r_ + 0.7 * f_.cell) * n, 0};
      const Vec3 cut = p.b + Vec3{(r_ - 0.7 * f_.cell) * c, (r_ - 0.7 * f_.cell) * n, 0};
      if (!(top(wall) > z) || !(top(cut) > z)) continue;
      const Vec3 q = local(wall);
      shallow(under_wall(raw(), q.x, q.y, z, top(wall)) - 0.7 * f_.cell, 2 * pi * r_ / round, false, wall);
    }
  }

  /// Is there an edge of the finished part, or of what is left of it for later, at this place?
  bool final_edge(const Vec3& p) const {
    const Vec3 q = local(p);
    const compose::SetUp& s = s_.set_up;
    const double dx = std::max(s.low_x - q.x, q.x - s.high_x), dy = std::max(s.low_y - q.y, q.y - s.high_y);
    return std::max(dx, dy) < edge_room;
  }
  double outside(const Vec3& p) const {
    const Vec3 q = local(p);
    return raw().body.outside(q.x, q.y);
  }
  /// A floor beside the finished part is cut off by the next pass.
  bool floor_stays(const Vec3& p) const {
    const Vec3 q = local(p);
    return s_.finished[static_cast<std::size_t>(nest_)].body.outside(q.x, q.y) <= 0.45 * f_.cell;
  }
  void breaks(double amount, const Vec3& at) {
    if (amount > out_.broken) out_.broken = amount, out_.out = at;
  }

  /// A way that leaves over the outside of the part.
  void left(const Piece& p) {
    if (t_.tool == nullptr || (t_.tool->kind.value != "end mill" && t_.tool->kind.value != "face mill")) return;
    for (const double side : {-1.0, 1.0}) wall_left(p, side);
    if (t_.cutter.corner > 0) return;
    constexpr int lanes = 7;
    for (int k = 0; k < lanes; ++k) floor_left(p, r_ * (-0.9 + 0.3 * k));
  }
  /// The wall ends where the cutter was still in metal.
  void wall_left(const Piece& p, double side) {
    const double z = p.a.z + thin;
    const int n = static_cast<int>(std::ceil(p.length / f_.cell));
    double cut = -1, gone = -1;
    for (int i = 0; i <= n; ++i) {
      const double along = std::min(p.length, i * f_.cell);
      const bool stands = top(p.at(along, side * (r_ + 0.7 * f_.cell))) > z;
      if (stands && top(p.at(along, side * (r_ - 0.7 * f_.cell))) > z) cut = along, gone = -1;
      else if (!stands && cut >= 0 && gone < 0) gone = along;
      else if (stands) gone = -1;
      if (gone >= 0 && along - gone >= run_out) {
        const Vec3 end = p.at(gone, side * (r_ + 0.7 * f_.cell));
        if (gone - cut <= 3 * f_.cell && outside(end) > -edge_before && final_edge(end) && square(p, side, cut))
          breaks(wide(p, side, cut), end);
        cut = gone = -1;
      }
    }
  }
  /// Where the outside is round or was cut at a slant the metal fades out before the edge.
  bool square(const Piece& p, double side, double along) const {
    return wide(p, side, along) > 0.6 * wide(p, side, std::max(0.0, along - 2 * mm));
  }
  /// How wide the metal is that the cutter takes there.
  double wide(const Piece& p, double side, double along) const {
    const int n = static_cast<int>(2 * r_ / f_.cell);
    int k = 0;
    while (k < n && top(p.at(along, side * (r_ - (0.7 + k) * f_.cell))) > p.a.z + thin) ++k;
    return k * f_.cell;
  }
  /// The floor ends where the cutter's front was still in metal.
  void floor_left(const Piece& p, double beside) {
    const double front = p.length + 0.98 * std::sqrt(r_ * r_ - beside * beside), z = p.a.z;
    const int n = static_cast<int>(front / f_.cell);
    double over = 0;
    Vec3 before;
    for (int i = 0; i <= n; ++i) {
      const Vec3 q = p.at(i * f_.cell, beside);
      const double there = top(q) - z;
      // A chamfered edge falls by no more than a cell's width from cell to cell.
      const bool ends = over > 2 * thin && there < -1.6 * f_.cell;
      if (ends && outside(q) > -edge_before && final_edge(q) && floor_stays(before)) breaks(over, q);
      over = there > thin ? there : 0;
      before = q;
    }
  }

  const Scene& s_;
  int nest_;
  const Skins& skins_;
  const ToolShape& t_;
  const removal::Field& f_;
  double r_;
  Surfaced out_;
};

}  // namespace

double under_wall(const Shape& raw, double x, double y, double low, double high) {
  double best = far;
  const Outline& o = raw.body;
  const double to[4] = {o.middle.x + o.half_x - x, x - (o.middle.x - o.half_x), o.middle.y + o.half_y - y,
                        y - (o.middle.y - o.half_y)};
  for (std::size_t k = 0; k < 4; ++k)
    if (raw.skin_side[k]) best = std::min(best, to[k]);
  // Round a corner the nearest place of the outside is on its arc. Where one of the sides was cut before, the arc is
  // no longer the casting's: then the other side alone counts.
  const bool corner = std::min(to[0], to[1]) < o.corner && std::min(to[2], to[3]) < o.corner;
  if (corner && raw.skin_side[to[0] < to[1] ? 0 : 1] && raw.skin_side[to[2] < to[3] ? 2 : 3])
    best = std::min(best, -o.outside(x, y));
  for (const Hollow& h : raw.hollows) {
    if (!h.skin || h.ring) continue;
    const double off = h.outline.outside(x, y);
    if (off >= 0 && std::min(high, h.upper) - std::max(low, h.lower) > 1 * mm) best = std::min(best, off);
  }
  return best;
}

Surfaced surface(const Scene& scene, int nest, const Skins& skins, const ToolShape& tool, const program::Move& here,
                 const removal::Field& metal) {
  if (tool.tool == nullptr || tool.probe || tool.cutter.angle > 0 || !(tool.cutter.diameter > 0)) return {};
  return Looker(scene, nest, skins, tool, metal).look(here);
}

}  // namespace fettle::prove
