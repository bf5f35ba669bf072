#pragma once
// What the rules of the trade look at: a plan flattened into plain values. SI, part frame. An empty optional, an empty
// list of gates or an `unknown` means that nobody said it: the rules that need it stay open.
#include <optional>
#include <string>
#include <vector>

#include "frame/frame.h"

namespace fettle::practice {

enum class Iron { unknown, grey, ductile, other };
/// What is there before the first cut.
enum class Start { unknown, skin, cored, solid };
enum class Shape { other, face, bore, hole, thread, pocket, groove };

/// Where metal came in: a stub that stands proud.
struct Gate {
  std::string id, on;
  frame::Vec3 at;
  double width = 0;
};

struct Casting {
  Iron iron = Iron::unknown;
  std::optional<double> skin;     ///< m, least depth of a first cut
  std::optional<double> parting;  ///< m, height of the parting line
  std::optional<double> warp;     ///< m, bow of a casting
  std::optional<double> hardest;  ///< HB at corners and thin places
  std::vector<Gate> gates;        ///< none: nobody said where
};

/// One surface, bore, hole pattern. The sides of a profile are features of their own ("F1.+x").
struct Feature {
  std::string id, words;
  std::string metal;  ///< the last surface on the same metal; empty: itself
  Shape shape = Shape::other;
  Start start = Start::unknown;
  frame::Vec3 normal;                 ///< outward, of faces; zero for others
  std::optional<double> least_stock;  ///< m on this surface at the bad end of the casting's tolerance
  std::optional<double> edge_wall;    ///< m of metal between a hole's wall and the nearest raw edge of the casting
  bool critical = false, sealing = false;
  bool gauged = false;                                  ///< somebody asks for its size
  std::optional<double> size, tolerance;                ///< m, what is gauged and the whole width of its limits
  std::optional<double> flatness;                       ///< m asked for
  std::vector<std::string> edges_on;                    ///< surfaces on which it has an edge
  std::optional<std::vector<std::string>> drains_into;  ///< features below it that its swarf falls through
};

enum class ToolKind {
  unknown,
  face_mill,
  end_mill,
  drill,
  reamer,
  tap,
  thread_mill,
  boring,
  keyseat,
  chamfer,
  probe,
  wheel,
  hone
};
enum class Pass {
  unknown,
  rough,
  finish,
  rough_and_finish,
  drill,
  ream,
  tap,
  chamfer,
  bore,
  groove,
  probe,
  grind,
  hone
};
/// How a tool leaves the metal.
enum class Exit { unknown, into_stock, edge_broken, rolls_out, sharp };

struct Cut {
  std::string tool;
  ToolKind kind = ToolKind::unknown;
  Pass pass = Pass::unknown;
  std::vector<std::string> features;
  std::optional<bool> forms;          ///< a tap that forms the thread instead of cutting it
  std::optional<double> least_depth;  ///< m into the surface where there is least, when the plan says it
  std::optional<double> pass_depth;   ///< m, most that one pass may take into the surface
  std::optional<double> leaves;       ///< m left for a later cut
  Exit exit = Exit::unknown;
  std::vector<std::string> leaves_over;  ///< surfaces over whose edge the tool leaves
};

enum class Touch { rest, stop, jaw, centre, round_pin, relieved_pin, chuck, clamp };

/// One place where something touches the part.
struct Contact {
  std::string name;
  Touch touch = Touch::rest;
  std::string on;                     ///< feature touched
  std::optional<frame::Vec3> at;      ///< m
  double reach = 0;                   ///< m, radius that it covers
  bool steers = false;                ///< something made here has its place along this contact
  std::optional<frame::Vec3> pushes;  ///< unit vector of a clamp that presses on one place (screw, strap)
};

struct Pin {
  std::string id, in;
  bool round = true;
  std::optional<double> height;     ///< m, cylindrical land
  std::optional<double> clearance;  ///< m, least, on diameter
  std::optional<double> span;       ///< m to the other pin
};
struct Screw {
  std::string id;
  std::optional<double> shoulder;  ///< m; none: no shoulder screw
  std::optional<double> grip;      ///< m, least thickness under its head
};
struct RunOff {
  std::optional<double> closed_end;  ///< m that it goes on behind the bore; 0: open
  std::optional<double> slope;       ///< rad
};

/// What is done besides cutting. Empty: nobody said.
struct Steps {
  std::optional<bool> shims, demagnetises, deburrs, washes, oils, cleans_seats, looks_for_pores, gauges, soaks,
      single_block, lifts_evenly;
};

enum class How { other, grind, vise, vise_gang, jaw_carrier, pallet, chuck, hone, deburr, wash, gauge };

struct Operation {
  std::string id, words;
  How how = How::other;
  std::vector<Contact> contacts;
  std::vector<Cut> cuts;
  std::vector<Pin> pins;
  std::vector<Screw> screws;
  std::vector<RunOff> run_offs;
  Steps steps;
  std::optional<bool> magnetic;     ///< held by a magnet
  std::optional<bool> wet;          ///< coolant or wash water on bare iron
  std::optional<double> lot_time;   ///< s, the last part of a lot waits this long for its turn or for its fellows
  std::optional<double> part_time;  ///< s of work on one part
  std::optional<double> thickness;  ///< m of the part along the clamping screws
  std::optional<int> at_once;       ///< parts held at once
};

/// A requirement between features: position, coaxiality, squareness, distance.
struct Relation {
  std::string id, feature;
  std::vector<std::string> to;
  double zone = 0;  ///< m, whole width
};

/// The numbers of the rules, each with its source in README.md.
struct Numbers {
  double ridge = 1.5e-3;         ///< m on both sides of the parting line
  double chill_reach = 5e-3;     ///< m from a raw edge that may be white iron
  double hard = 240;             ///< HB above which a tap is at risk
  double feeler = 0.05e-3;       ///< m of gap that is shimmed
  double seat_again = 0.1e-3;    ///< m that a second clamping may cost
  double bare_hours = 4;         ///< h that wet iron may stay bare
  double pore_share = 0.5;       ///< of the work that may be spent before anybody looks for pores
  double warm_share = 0.1;       ///< of a tolerance that warmth may take
  double washing_slope = 0.026;  ///< rad, fall at which fines go along
};

struct Facts {
  Casting casting;
  std::vector<Feature> features;
  std::vector<Operation> operations;  ///< in order of the route
  std::vector<Relation> relations;
  bool critical_said = false;       ///< somebody said what is critical
  std::optional<double> warm;       ///< K, part as it comes off the machine
  std::optional<double> gauge_at;   ///< K, where gauges and rings are
  std::optional<double> expansion;  ///< 1/K of the part
  bool inch = false;                ///< sentences in inches
  Numbers numbers;
};

}  // namespace fettle::practice
