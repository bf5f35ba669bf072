#include "calc/motion/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/motion/motion.h"
#include "finding/reckoner_kit.h"

namespace fettle::motion {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr double pi = 3.14159265358979323846;

ReckonerInput acceleration() {
  return quantity("acceleration", Kind::acceleration, "of the axes along the path", 1e-3, 1000);
}

Outcome<ReckonerAnswer> answer_move(const ReckonerValues& v) {
  const Ramp ramp{v["acceleration"], v["jerk"]};
  const auto p = profile(v["length"], v["start"], v["end"], v["speed"], ramp);
  if (!p.ok()) return p.problems();
  ReckonerAnswer a;
  a.number = {{"time", p->total()}, {"reached", p->peak}, {"up", p->up}, {"along", p->along}, {"down", p->down}};
  const double lost = p->total() - p->length / v["speed"];
  a.number["lost"] = lost;
  a.sentence =
      fmt::format("{} for {}; {} of it is lost to speeding up and slowing down.", unit::print(p->total(), Kind::time),
                  unit::print(p->length, Kind::length), unit::print(lost, Kind::time));
  if (p->peak < v["speed"])
    a.notes.push_back(fmt::format("too short to reach {}: {} is reached", unit::print(v["speed"], Kind::speed),
                                  unit::print(p->peak, Kind::speed)));
  return a;
}

Reckoner straight() {
  Reckoner r;
  r.name = "ramp_time";
  r.science = "motion";
  r.question = "How long does one straight move take with acceleration and jerk?";
  r.inputs = {length("length", "of the move", 0, 1000),
              quantity("speed", Kind::speed, "feed or rapid", 1e-6, 100),
              acceleration(),
              quantity("jerk", Kind::jerk, "how fast acceleration comes; 0: at once", 0, 1e6, "0 m/s³"),
              quantity("start", Kind::speed, "speed at the start", 0, 100, "0 m/min"),
              quantity("end", Kind::speed, "speed at the end", 0, 100, "0 m/min")};
  r.outputs = {{"time", Kind::time, "of the whole move"}, {"reached", Kind::speed, "highest speed"},
               {"up", Kind::time, "speeding up"},         {"along", Kind::time, "at that speed"},
               {"down", Kind::time, "slowing down"},      {"lost", Kind::time, "against the full speed all along"}};
  r.formula = "ramp of dv: dv/A + A/J when dv >= A^2/J, else 2 sqrt(dv/J); way of a ramp: mean speed times that";
  r.source =
      "double-S profile: Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and Robots, Springer "
      "2008, "
      "section 3.4";
  r.range = "one axis or a straight line; acceleration and jerk are those along the path";
  r.examples = {
      {{{"length", "100 mm"}, {"speed", "36 m/min"}, {"acceleration", "5 m/s²"}, {"jerk", "50 m/s³"}},
       {{"time", "0.4 s"}},
       1e-6,
       "rest to rest in closed form"},
      {{{"length", "5 mm"}, {"speed", "36 m/min"}, {"acceleration", "5 m/s²"}},
       {{"time", "0.063246 s"}},
       1e-5,
       "2 sqrt(L/a)"},
      {{{"length", "10 m"}, {"speed", "10 m/s"}, {"acceleration", "10 m/s²"}, {"jerk", "30 m/s³"}, {"start", "1 m/s"}},
       {{"reached", "8.4136 m/s"}, {"up", "1.0747 s"}, {"down", "1.1747 s"}},
       1e-4,
       "Biagiotti and Melchiorri, Example 3.10"}};
  r.answer = answer_move;
  return r;
}

Outcome<ReckonerAnswer> answer_corner(const ReckonerValues& v) {
  const double speed = motion::corner_speed(v["turn"], v["tolerance"], v["side"], v["acceleration"]);
  ReckonerAnswer a;
  a.number["speed"] = speed;
  a.number["radius"] = speed * speed / v["acceleration"];
  a.sentence = fmt::format("{} is kept through the corner, on a circle of {}.", unit::print(speed, Kind::speed),
                           unit::print(a.number["radius"], Kind::length));
  return a;
}

Reckoner corner() {
  Reckoner r;
  r.name = "corner_speed";
  r.science = "motion";
  r.question = "Which feed is kept through a corner within the path tolerance?";
  r.inputs = {quantity("turn", Kind::angle, "by which the path turns; 90 deg for a square corner", 1e-4, pi),
              length("tolerance", "how far the corner may be cut", 1e-7, 0.01), acceleration(),
              length("side", "room on each side, half of the shorter move", 0, 1000, "1 m")};
  r.outputs = {{"speed", Kind::speed, "through the corner"}, {"radius", Kind::length, "of the circle in the corner"}};
  r.formula = "R = tolerance cos(turn/2)/(1 - cos(turn/2)), at most side/tan(turn/2); speed = sqrt(acceleration R)";
  r.source = "plane geometry of the circle that touches both sides; centripetal acceleration v^2/R";
  r.range = "sides straight near the corner; jerk within the corner is not looked at";
  r.examples = {{{{"turn", "90 deg"}, {"tolerance", "0.01 mm"}, {"acceleration", "2.5 m/s²"}},
                 {{"radius", "0.0241421 mm"}, {"speed", "0.466134 m/min"}},
                 1e-5,
                 "R = tolerance (1 + sqrt 2), worked by hand"}};
  r.answer = answer_corner;
  return r;
}

Outcome<ReckonerAnswer> answer_arc(const ReckonerValues& v) {
  ReckonerAnswer a;
  a.number["feed"] = arc_speed(v["radius"], v["acceleration"]);
  a.sentence = fmt::format("Around {} the path runs at up to {}.", unit::print(v["radius"], Kind::length),
                           unit::print(a.number["feed"], Kind::speed));
  return a;
}

Reckoner arc() {
  Reckoner r;
  r.name = "arc_feed";
  r.science = "motion";
  r.question = "How fast can the tool's centre go around a small radius?";
  r.inputs = {length("radius", "of the tool centre's path", 1e-6, 1000), acceleration()};
  r.outputs = {{"feed", Kind::speed, "of the tool's centre"}};
  r.formula = "v = sqrt(acceleration radius)";
  r.source = "centripetal acceleration v^2/R";
  r.range = "both axes of the arc accelerate alike";
  r.examples = {{{{"radius", "1 mm"}, {"acceleration", "2.5 m/s²"}}, {{"feed", "3 m/min"}}, 1e-9, "exact"}};
  r.answer = answer_arc;
  return r;
}

}  // namespace

std::vector<Reckoner> reckoners() { return {motion::straight(), motion::corner(), motion::arc()}; }

}  // namespace fettle::motion
