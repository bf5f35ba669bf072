#include "ref/materials.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <functional>
#include <map>

#include "base/text.h"
#include "unit/quantity.h"

namespace fettle::ref {

namespace {

constexpr double GPa = 1e9, MPa = 1e6, ksi = 6894757.293168361;

Property around(double value, double share) { return {value, value * (1 - share), value * (1 + share)}; }
Property times(Property p, double factor) { return {p.value * factor, p.low * factor, p.high * factor}; }
Property per_million(double value, double low, double high) { return {value * 1e-6, low * 1e-6, high * 1e-6}; }

/// EN grades of grey iron; modulus range and physical values of EN 1561's annex.
Material grey_en(int grade, double density, Property modulus, double conductivity, double hb_low, double hb_high,
                 const char* hardness) {
  Material m;
  m.name = fmt::format("EN-GJL-{}", grade);
  m.aliases = {fmt::format("GJL-{}", grade),     fmt::format("ISO 185/JL/{}", grade), fmt::format("JL/{}", grade),
               fmt::format("GG-{}", grade / 10), fmt::format("GG{}", grade / 10),     fmt::format("FC{}", grade)};
  m.group = "grey iron";
  m.density = around(density, 0.01);
  m.modulus = times(modulus, GPa);
  m.poisson = {0.26, 0.24, 0.28};
  m.expansion = per_million(10.5, 10, 11.7);
  m.conductivity = around(conductivity, 0.1);
  m.hardness_low = hb_low;
  m.hardness_high = hb_high;
  m.tensile = grade * MPa;
  m.source = fmt::format(
      "EN 1561: modulus, density and conductivity from memory; hardness {}; expansion 10.5 to 11 read in a data sheet",
      hardness);
  m.note =
      "modulus falls with graphite and rises little with load; Rm is that of a separately cast bar, less in a thick "
      "wall";
  return m;
}

/// Inch grades; modulus values of the classes read, ranges from memory.
Material grey_astm(int grade, double mpsi, double low, double high, double hb) {
  Material m;
  m.name = fmt::format("A48 class {}", grade);
  m.aliases = {fmt::format("class {}", grade), fmt::format("ASTM A48 class {}", grade), fmt::format("A48-{}", grade),
               fmt::format("A48-{}B", grade), fmt::format("class {}B", grade)};
  m.group = "grey iron";
  m.density = {7200, 7050, 7300};
  m.modulus = {mpsi * 1e3 * ksi, low * GPa, high * GPa};
  m.poisson = {0.26, 0.24, 0.28};
  m.expansion = per_million(10.5, 10, 11.7);
  m.conductivity = {46, 42, 54};
  m.hardness_low = hb - 25;
  m.hardness_high = hb + 25;
  m.tensile = grade * ksi;
  m.source = "modulus by ASTM A48 class as published (handbook table), its range and the hardness from memory";
  m.note = "hardness is typical and not part of the standard";
  return m;
}

Material ductile(const char* grade, const char* plain, double modulus, double density, double hb_low, double hb_high,
                 double rm, double rp, double k) {
  Material m;
  m.name = fmt::format("EN-GJS-{}", grade);
  m.aliases = {fmt::format("GJS-{}", grade), fmt::format("ISO 1083/JS/{}", grade), fmt::format("GGG-{}", plain),
               fmt::format("GGG{}", plain)};
  m.group = "ductile iron";
  m.density = around(density, 0.01);
  m.modulus = around(modulus * GPa, 0.04);
  m.poisson = {0.275, 0.26, 0.29};
  m.expansion = per_million(12.5, 11, 13);
  m.conductivity = around(k, 0.1);
  m.hardness_low = hb_low;
  m.hardness_high = hb_high;
  m.tensile = rm * MPa;
  m.yield = rp * MPa;
  m.source =
      "EN 1563:1997 as given by a foundry (strength, hardness, modulus, density); Poisson's ratio, expansion, "
      "conductivity from memory";
  m.note = "separately cast test piece";
  return m;
}

Material malleable(const char* name, std::vector<std::string> aliases, double rm, double rp, double hb_low,
                   double hb_high) {
  Material m;
  m.name = name;
  m.aliases = std::move(aliases);
  m.group = "malleable iron";
  m.density = {7300, 7200, 7400};
  m.modulus = {170 * GPa, 160 * GPa, 180 * GPa};
  m.poisson = {0.26, 0.25, 0.29};
  m.expansion = per_million(11.5, 10.5, 13);
  m.conductivity = {45, 38, 52};
  m.hardness_low = hb_low;
  m.hardness_high = hb_high;
  m.tensile = rm * MPa;
  m.yield = rp * MPa;
  m.source = "EN 1562, from memory";
  m.note = "test bar of 12 or 15 mm";
  return m;
}

Material metal(std::string name, std::vector<std::string> aliases, std::string group, Property density,
               Property modulus_gpa, Property poisson, Property expansion, Property conductivity, double hb_low,
               double hb_high, double rm, double rp, std::string source, std::string note) {
  Material m;
  m.name = std::move(name);
  m.aliases = std::move(aliases);
  m.group = std::move(group);
  m.density = density;
  m.modulus = times(modulus_gpa, GPa);
  m.poisson = poisson;
  m.expansion = expansion;
  m.conductivity = conductivity;
  m.hardness_low = hb_low;
  m.hardness_high = hb_high;
  m.tensile = rm * MPa;
  m.yield = rp * MPa;
  m.source = std::move(source);
  m.note = std::move(note);
  return m;
}

std::vector<Material> make_materials() {
  const std::string memory = "from memory: handbook values";
  const Property nu_al = {0.33, 0.32, 0.34}, nu_steel = {0.29, 0.27, 0.30}, rho_steel = {7850, 7800, 7880},
                 e_steel = {208, 200, 214};
  return {
      grey_en(150, 7100, {90, 78, 103}, 52.5, 140, 190, "read in a foundry's table"),
      grey_en(200, 7150, {100, 88, 113}, 50, 150, 210, "read in a foundry's table"),
      grey_en(250, 7200, {110, 103, 118}, 48.5, 170, 240, "read in a foundry's table"),
      grey_en(300, 7250, {122, 108, 137}, 47.5, 190, 240, "read in a foundry's table"),
      grey_en(350, 7300, {133, 123, 143}, 45.5, 210, 280, "from memory"),
      grey_astm(20, 11.6, 66, 97, 156),
      grey_astm(25, 14.2, 79, 102, 174),
      grey_astm(30, 14.5, 90, 113, 201),
      grey_astm(35, 16.0, 100, 119, 212),
      grey_astm(40, 17, 110, 138, 235),
      grey_astm(50, 18, 124, 157, 262),
      grey_astm(60, 19.9, 137, 162, 302),
      ductile("400-15", "40", 169, 7100, 135, 180, 400, 250, 36.2),
      ductile("450-10", "45", 169, 7100, 160, 210, 450, 310, 36.2),
      ductile("500-7", "50", 169, 7100, 170, 230, 500, 320, 35.2),
      ductile("600-3", "60", 174, 7200, 190, 270, 600, 370, 32.5),
      ductile("700-2", "70", 176, 7200, 225, 305, 700, 420, 31.1),
      malleable("EN-GJMB-350-10", {"GJMB-350-10", "GTS-35-10", "GTS35"}, 350, 200, 110, 150),
      malleable("EN-GJMB-550-4", {"GJMB-550-4", "GTS-55-04", "GTS55"}, 550, 340, 180, 230),
      malleable("EN-GJMW-400-5", {"GJMW-400-5", "GTW-40-05", "GTW40"}, 400, 220, 120, 220),
      metal("EN AW-5083", {"AW-5083", "5083", "AlMg4.5Mn0.7", "5083-O", "5083-H111", "5083 cast plate"}, "aluminium",
            {2660, 2640, 2680}, {71, 69, 72}, nu_al, per_million(23.8, 23.2, 24.5), {117, 105, 125}, 65, 80, 270, 110,
            memory, "O, H111 or cast plate"),
      metal("EN AW-6061-T651", {"6061", "6061-T6", "6061-T651", "AW-6061"}, "aluminium", {2700, 2690, 2720},
            {68.9, 67.5, 71}, nu_al, per_million(23.6, 23, 24), {167, 155, 172}, 90, 100, 310, 276,
            "typical values of the producers' association, as quoted in a data sheet; hardness from memory",
            "typical, not least, strength"),
      metal("EN AW-6082-T651", {"6082", "6082-T6", "6082-T651", "AW-6082"}, "aluminium", {2700, 2690, 2720},
            {70, 68, 72}, nu_al, per_million(23.4, 23, 24), {170, 150, 185}, 85, 95, 295, 240, memory,
            "plate 12 to 60 mm"),
      metal("EN AW-7075-T651", {"7075", "7075-T6", "7075-T651", "AW-7075"}, "aluminium", {2810, 2790, 2830},
            {71.7, 70, 73}, nu_al, per_million(23.4, 22.8, 24), {130, 120, 140}, 140, 160, 540, 470,
            "7075-T6 data sheet gives E 70 to 71.7 GPa, Rp0.2 480 to 503, Rm 560 to 572; density and thermal values "
            "from memory",
            "strength taken below the typical values; it falls with plate thickness"),
      metal("S235JR", {"1.0038", "A36", "mild steel", "Fe360", "St37"}, "steel", rho_steel, e_steel, nu_steel,
            per_million(12, 11.5, 12.5), {54, 48, 60}, 100, 140, 360, 235, memory, "up to 16 mm"),
      metal("C45", {"1.0503", "1045", "SAE 1045", "AISI 1045"}, "steel", rho_steel, e_steel, nu_steel,
            per_million(11.5, 11, 12.2), {50, 44, 54}, 165, 215, 580, 305, memory, "normalised"),
      metal("42CrMo4 QT", {"42CrMo4", "1.7225", "4140", "AISI 4140"}, "steel", rho_steel, e_steel, nu_steel,
            per_million(11.5, 11, 12.5), {43, 38, 46}, 265, 325, 900, 650, memory,
            "quenched and tempered, 40 to 100 mm"),
      metal("16MnCr5 case hardened", {"16MnCr5", "1.7131", "5115", "case-hardened steel"}, "steel", rho_steel, e_steel,
            nu_steel, per_million(11.6, 11, 12.5), {44, 38, 48}, 0, 0, 800, 600, memory,
            "case 58 to 62 HRC; strength of the core"),
      metal("100Cr6 hardened", {"100Cr6", "1.3505", "52100", "bearing steel"}, "steel", {7810, 7780, 7850},
            {210, 204, 214}, nu_steel, per_million(12, 11.5, 12.6), {40, 34, 46}, 0, 0, 2000, 1700, memory,
            "58 to 63 HRC: dowel pins, gauge pins"),
      metal("90MnCrV8 hardened", {"90MnCrV8", "1.2842", "O2", "tool steel"}, "steel", {7800, 7760, 7850},
            {208, 200, 214}, nu_steel, per_million(11.8, 11, 12.6), {32, 28, 36}, 0, 0, 2000, 1700, memory,
            "58 to 62 HRC: rests, jaws, pins"),
      metal("carbide K10", {"carbide", "cemented carbide", "WC-Co", "WC-6Co"}, "carbide", {14900, 14400, 15000},
            {600, 560, 640}, {0.22, 0.20, 0.24}, per_million(5, 4.5, 5.8), {85, 70, 100}, 0, 0, 1500, 0, memory,
            "rods of end mills lie near 10 % cobalt and 580 GPa; brittle"),
  };
}

struct WallRow {
  const char* grade;
  std::array<double, 5> rm;  ///< walls up to 5, 10, 20, 40, 80 mm; 0: not printed
};
constexpr std::array<double, 5> kWalls = {5, 10, 20, 40, 80};
constexpr WallRow kWallRows[] = {{"EN-GJL-150", {155, 130, 110, 95, 80}},
                                 {"EN-GJL-200", {205, 180, 155, 130, 115}},
                                 {"EN-GJL-250", {250, 225, 195, 170, 155}},
                                 {"EN-GJL-300", {0, 270, 240, 210, 195}}};

}  // namespace

std::string plain_name(std::string_view name) {
  std::string out;
  for (char c : base::lower(name))
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '.') out += c;
  return out;
}

std::span<const Material> materials() {
  static const std::vector<Material> table = make_materials();
  return table;
}

namespace {
/// Every plain name and alias; of two alike the first in the table.
const std::map<std::string, const Material*, std::less<>>& by_plain_name() {
  static const auto index = [] {
    std::map<std::string, const Material*, std::less<>> out;
    for (const Material& m : materials()) {
      out.emplace(plain_name(m.name), &m);
      for (const std::string& n : m.aliases) out.emplace(plain_name(n), &m);
    }
    return out;
  }();
  return index;
}
}  // namespace

Outcome<Material> material(std::string_view name) {
  const std::string key = plain_name(name);
  if (const auto it = by_plain_name().find(key); it != by_plain_name().end()) return *it->second;
  std::vector<std::string> names;
  std::vector<const Material*> owner;
  for (const Material& m : materials()) {
    names.push_back(plain_name(m.name)), owner.push_back(&m);
    for (const std::string& n : m.aliases) names.push_back(plain_name(n)), owner.push_back(&m);
  }
  const std::string near = key.size() > 2 ? base::nearest(key, names) : "";
  std::string nearest;
  for (std::size_t i = 0; i < names.size() && nearest.empty() && !near.empty(); ++i)
    if (names[i] == near) nearest = owner[i]->name;
  return bad("no such material", std::string(name),
             "a material of the table, such as EN-GJL-250, A48 class 35 or EN AW-5083", nearest);
}

Outcome<double> strength_in_wall(std::string_view grade, double wall) {
  const auto m = material(grade);
  if (!m) return m.problems();
  for (const WallRow& r : kWallRows) {
    if (m->name != r.grade) continue;
    const double mm = unit::in_unit(wall, "mm");
    for (std::size_t i = 0; i < kWalls.size(); ++i)
      if (mm > 0 && mm <= kWalls[i]) {
        if (r.rm[i] > 0) return r.rm[i] * MPa;
        return bad("no strength is printed for so thin a wall", unit::write(wall, unit::Kind::length),
                   "a wall over 5 mm");
      }
    return bad("no strength is printed for this wall", unit::write(wall, unit::Kind::length),
               "a wall above 0 up to 80 mm");
  }
  return bad("no strength by wall is printed for this material", std::string(grade), "EN-GJL-150 to EN-GJL-300");
}

}  // namespace fettle::ref
