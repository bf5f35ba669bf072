#pragma once
// The same pallet as a solid of 20-node bricks for the general finite-element program `ccx`, where that is installed:
// an answer by other means. Anchors are springs at the underside's nodes. Parts are masses spread over the top's nodes
// below them or, bonded, bricks of their own metal.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "calc/structure/structure.h"

namespace fettle::structure::test {

struct SolidMode {
  double hertz = 0;
  std::vector<frame::Vec3> at;  ///< motion of the watched places, any scale
};
struct SolidAnswer {
  bool ok = false;
  std::vector<SolidMode> modes;
  std::vector<std::array<double, 2>> watched;  ///< places on the top, pallet frame
};

inline bool solid_program_is_here() { return std::system("command -v ccx >/dev/null 2>&1") == 0; }

/// `layers` bricks through the thickness; a bonded part has two.
class SolidPallet {
 public:
  SolidPallet(const Inputs& in, int layers) : in_(in), nx_(in.columns), ny_(in.rows), nz_(layers) {}

  SolidAnswer solve(const std::string& folder) {
    std::filesystem::create_directories(folder);
    SolidAnswer answer;
    {
      std::ofstream out(folder + "/pallet.inp");
      out.precision(17);
      write(out, answer);
    }
    std::filesystem::remove(folder + "/pallet.dat");
    const std::string run = "cd '" + folder + "' && OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 ccx pallet >ccx.log 2>&1";
    if (std::system(run.c_str()) == 0) read(folder + "/pallet.dat", answer);
    return answer;
  }

 private:
  int node(int i, int j, int k) const { return 1 + i + (2 * nx_ + 1) * (j + (2 * ny_ + 1) * k); }
  double x(int i) const { return in_.plate.length * (i / (2.0 * nx_) - 0.5); }
  double y(int j) const { return in_.plate.width * (j / (2.0 * ny_) - 0.5); }
  double z(int k, double above = 0) const {
    return k <= 2 * nz_ ? in_.plate.thickness * (k / (2.0 * nz_) - 1) : above * (k - 2 * nz_) / 4;
  }
  /// The brick's middle lies in the part's footprint (not turned).
  bool below(const Part& p, int i, int j) const {
    return std::fabs(x(2 * i + 1) - p.x) < p.size_x / 2 && std::fabs(y(2 * j + 1) - p.y) < p.size_y / 2;
  }
  static bool is_node(int i, int j, int k) { return i % 2 + j % 2 + k % 2 <= 1; }

  /// Nodes of one level inside a shape.
  template <class Inside>
  std::vector<std::array<int, 2>> nodes_where(int k, Inside inside) const {
    std::vector<std::array<int, 2>> out;
    for (int j = 0; j <= 2 * ny_; ++j)
      for (int i = 0; i <= 2 * nx_; ++i)
        if (is_node(i, j, k) && inside(x(i), y(j))) out.push_back({i, j});
    return out;
  }

  void write(std::ofstream& out, SolidAnswer& answer) {
    const int top = 2 * nz_;
    out << "*NODE,NSET=ALL\n";
    for (int k = 0; k <= 2 * nz_; ++k)
      for (int j = 0; j <= 2 * ny_; ++j)
        for (int i = 0; i <= 2 * nx_; ++i)
          if (is_node(i, j, k)) out << node(i, j, k) << ',' << x(i) << ',' << y(j) << ',' << z(k) << '\n';
    out << "*ELEMENT,TYPE=C3D20R,ELSET=PLATE\n";
    for (int k = 0; k < nz_; ++k)
      for (int j = 0; j < ny_; ++j)
        for (int i = 0; i < nx_; ++i) brick(out, i, j, k);
    const Metal& m = in_.plate.metal;
    std::string later = "*MATERIAL,NAME=M\n*ELASTIC\n" + number(m.modulus) + "," + number(m.poisson) + "\n*DENSITY\n" +
                        number(m.density) + "\n*SOLID SECTION,ELSET=PLATE,MATERIAL=M\n";
    for (std::size_t a = 0; a < in_.anchors.size(); ++a) later += springs(out, a);
    for (std::size_t p = 0; p < in_.parts.size(); ++p)
      later += in_.bonded ? bricks(out, in_.parts[p], p) : masses(out, in_.parts[p], p);
    out << "*NSET,NSET=WATCHED\n";
    for (int j = 0; j <= ny_; j += 4)
      for (int i = 0; i <= nx_; i += 4) {
        out << node(2 * i, 2 * j, top) << ",\n";
        answer.watched.push_back({x(2 * i), y(2 * j)});
      }
    out << later << "*STEP\n*FREQUENCY\n" << in_.modes << "\n*NODE PRINT,NSET=WATCHED\nU\n*END STEP\n";
  }

  void brick(std::ofstream& out, int i, int j, int k) {
    constexpr int at[20][3] = {{0, 0, 0}, {2, 0, 0}, {2, 2, 0}, {0, 2, 0}, {0, 0, 2}, {2, 0, 2}, {2, 2, 2},
                               {0, 2, 2}, {1, 0, 0}, {2, 1, 0}, {1, 2, 0}, {0, 1, 0}, {1, 0, 2}, {2, 1, 2},
                               {1, 2, 2}, {0, 1, 2}, {0, 0, 1}, {2, 0, 1}, {2, 2, 1}, {0, 2, 1}};
    out << ++element_;
    for (int n = 0; n < 20; ++n)
      out << (n == 10 ? ",\n" : ",") << node(2 * i + at[n][0], 2 * j + at[n][1], 2 * k + at[n][2]);
    out << '\n';
  }

  std::string bricks(std::ofstream& out, const Part& p, std::size_t index) {
    out << "*NODE\n";
    for (int k = 2 * nz_ + 1; k <= 2 * nz_ + 4; ++k)
      for (int j = 0; j < 2 * ny_ + 1; ++j)
        for (int i = 0; i < 2 * nx_ + 1; ++i) {
          bool used = false;
          for (int dj = 0; dj <= 1; ++dj)
            for (int di = 0; di <= 1; ++di) {
              const int a = i / 2 - di, b = j / 2 - dj;
              used = used ||
                     (a >= 0 && b >= 0 && a < nx_ && b < ny_ && i <= 2 * a + 2 && j <= 2 * b + 2 && below(p, a, b));
            }
          if (used && is_node(i, j, k))
            out << node(i, j, k) << ',' << x(i) << ',' << y(j) << ',' << z(k, p.thickness) << '\n';
        }
    const std::string set = "B" + std::to_string(index);
    out << "*ELEMENT,TYPE=C3D20R,ELSET=" << set << '\n';
    for (int k = nz_; k < nz_ + 2; ++k)
      for (int j = 0; j < ny_; ++j)
        for (int i = 0; i < nx_; ++i)
          if (below(p, i, j)) brick(out, i, j, k);
    return "*MATERIAL,NAME=" + set + "\n*ELASTIC\n" + number(p.metal.modulus) + "," + number(p.metal.poisson) +
           "\n*DENSITY\n" + number(p.metal.density) + "\n*SOLID SECTION,ELSET=" + set + ",MATERIAL=" + set + "\n";
  }

  std::string springs(std::ofstream& out, std::size_t index) {
    const Anchor& a = in_.anchors[index];
    const auto nodes =
        nodes_where(0, [&](double px, double py) { return std::hypot(px - a.x, py - a.y) <= a.patch / 2; });
    std::string later;
    for (int d = 1; d <= 3; ++d) {
      const std::string set = "A" + std::to_string(index) + "D" + std::to_string(d);
      out << "*ELEMENT,TYPE=SPRING1,ELSET=" << set << '\n';
      for (const auto& n : nodes) out << ++element_ << ',' << node(n[0], n[1], 0) << '\n';
      later += "*SPRING,ELSET=" + set + "\n" + std::to_string(d) + "\n" +
               number((d == 3 ? a.up : a.side) / static_cast<double>(nodes.size())) + "\n";
    }
    return later;
  }

  /// Its mass on the top's corner nodes below it, brick by brick.
  std::string masses(std::ofstream& out, const Part& p, std::size_t index) {
    std::map<int, int> quarters;
    int bricks = 0;
    for (int j = 0; j < ny_; ++j)
      for (int i = 0; i < nx_; ++i) {
        if (!below(p, i, j)) continue;
        ++bricks;
        for (int c = 0; c < 4; ++c) ++quarters[node(2 * i + 2 * (c % 2), 2 * j + 2 * (c / 2), 2 * nz_)];
      }
    std::string later;
    for (int q = 1; q <= 4; ++q) {
      const std::string set = "P" + std::to_string(index) + "Q" + std::to_string(q);
      out << "*ELEMENT,TYPE=MASS,ELSET=" << set << '\n';
      for (const auto& [at, count] : quarters)
        if (count == q) out << ++element_ << ',' << at << '\n';
      later += "*MASS,ELSET=" + set + "\n" + number(p.mass * q / (4.0 * bricks)) + "\n";
    }
    return later;
  }

  static std::string number(double v) {
    char text[40];
    std::snprintf(text, sizeof text, "%.12e", v);
    return text;
  }

  /// The table of frequencies, then for each mode the watched nodes in the order of their numbers.
  void read(const std::string& file, SolidAnswer& answer) {
    std::ifstream in(file);
    std::string line;
    bool table = false;
    while (std::getline(in, line)) {
      if (line.find("E I G E N V A L U E   O U T P U T") != std::string::npos) table = true;
      if (line.find("P A R T I C I P A T I O N") != std::string::npos) table = false;
      int number = 0;
      double a = 0, b = 0, c = 0;
      if (table && std::sscanf(line.c_str(), "%d %lf %lf %lf", &number, &a, &b, &c) == 4)
        answer.modes.push_back({c, {}});
      if (line.find("displacements") == std::string::npos) continue;
      if (seen_ >= answer.modes.size()) break;
      std::vector<frame::Vec3>& at = answer.modes[seen_++].at;
      while (at.size() < answer.watched.size() && std::getline(in, line))
        if (std::sscanf(line.c_str(), "%d %lf %lf %lf", &number, &a, &b, &c) == 4) at.push_back({a, b, c});
    }
    answer.ok = !answer.modes.empty() && seen_ == answer.modes.size();
  }

  const Inputs& in_;
  int nx_, ny_, nz_, element_ = 0;
  std::size_t seen_ = 0;
};

/// Likeness of two shapes over the same places, 1 when they differ by a factor only.
inline double likeness(const std::vector<frame::Vec3>& a, const std::vector<frame::Vec3>& b) {
  double ab = 0, aa = 0, bb = 0;
  for (std::size_t k = 0; k < a.size() && k < b.size(); ++k)
    ab += dot(a[k], b[k]), aa += dot(a[k], a[k]), bb += dot(b[k], b[k]);
  return ab * ab / (aa * bb);
}

}  // namespace fettle::structure::test
