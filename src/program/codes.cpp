// Which G and M codes there are, and their modal groups (NISTIR 6556, table 4; G31, G43.1, G52, G54.1, G73, G74, G95
// and M19, M98, M99 are common practice).
#include <fmt/format.h>

#include <array>
#include <cmath>

#include "program/scan.h"

namespace fettle::program {
namespace {

constexpr std::array<std::int8_t, 1000> g_groups() {
  std::array<std::int8_t, 1000> t{};
  for (auto& x : t) x = -1;
  for (int c : {0, 10, 20, 30, 310, 382, 730, 740, 810, 820, 830, 840, 850, 860, 870, 880, 890})
    t[static_cast<std::size_t>(c)] = 1;
  t[800] = 11;
  for (int c : {170, 180, 190}) t[static_cast<std::size_t>(c)] = 2;
  for (int c : {900, 910}) t[static_cast<std::size_t>(c)] = 3;
  for (int c : {930, 940, 950}) t[static_cast<std::size_t>(c)] = 5;
  for (int c : {200, 210}) t[static_cast<std::size_t>(c)] = 6;
  for (int c : {400, 410, 420}) t[static_cast<std::size_t>(c)] = 7;
  for (int c : {430, 431, 490}) t[static_cast<std::size_t>(c)] = 8;
  for (int c : {980, 990}) t[static_cast<std::size_t>(c)] = 10;
  for (int c : {540, 541, 550, 560, 570, 580, 590, 591, 592, 593}) t[static_cast<std::size_t>(c)] = 12;
  for (int c : {610, 611, 640}) t[static_cast<std::size_t>(c)] = 13;
  for (int c : {40, 100, 280, 300, 520, 530, 920, 921, 922, 923}) t[static_cast<std::size_t>(c)] = 0;
  return t;
}
constexpr auto groups = g_groups();

}  // namespace

int group_of_g(int tenths) { return tenths < 0 || tenths >= 1000 ? -1 : groups[static_cast<std::size_t>(tenths)]; }

int group_of_m(int number) {
  switch (number) {
    case 0:
    case 1:
    case 2:
    case 30:
    case 60:
      return 4;
    case 6:
      return 6;
    case 3:
    case 4:
    case 5:
    case 19:
      return 7;
    case 7:
    case 8:
    case 9:
      return 8;
    case 48:
    case 49:
      return 9;
    case 98:
    case 99:
      return 10;
    default:
      return -1;
  }
}

std::string g_text(int tenths) {
  return tenths % 10 == 0 ? fmt::format("{}", tenths / 10) : fmt::format("{}.{}", tenths / 10, tenths % 10);
}

std::string nearest_g(double number) {
  int best = -1;
  double gap = 2.5;
  for (int c = 0; c < 1000; ++c)
    if (groups[static_cast<std::size_t>(c)] >= 0 && std::fabs(c / 10.0 - number) < gap) {
      gap = std::fabs(c / 10.0 - number);
      best = c;
    }
  return best < 0 ? "" : "G" + g_text(best);
}

std::string nearest_m(double number) {
  int best = -1;
  double gap = 2.5;
  for (int c = 0; c < 100; ++c)
    if (group_of_m(c) >= 0 && std::fabs(c - number) < gap) {
      gap = std::fabs(c - number);
      best = c;
    }
  return best < 0 ? "" : fmt::format("M{}", best);
}

}  // namespace fettle::program
