#pragma once
// The plan as plain types. What each key means, its unit, bounds, default and band stands once, in schema.cpp.
#include <string>
#include <vector>

#include "plan/value.h"

namespace fettle::plan {

struct SourceFile {
  std::string path, text, hash;
};

struct Header {
  Text name, revision, date, units, note, shop, pallet;
  Number goal;
  Integer castings, seed;
};

struct Part {
  Text name, material, model, note;
  Sizes size;
  Number corner_radius, mass, density, elasticity, poisson, expansion, cutting_force, chip_exponent;
  Texts symmetry;
};

struct Feature {
  Text id, name, kind, normal, note;
  Points at;
  Limits diameter, width, length;
  Number from, to, radius, angle;
  Sizes size;
  Thread thread;
  Number drill, depth, thread_depth;
  Texts faces;
  Text datum, cast, over, ring;
  Limits mate;  ///< what stands against the ring: plug or bore
  Place place;  ///< of the table
};

struct Requirement {
  Text id, feature, kind, to, note, origin;
  Limits limits;
  Texts datums, modifiers;
  Text operation, gauge;
  Number goal, escape_cost;
  Flag critical;
  Place place;
};

/// One raw dimension of the casting: between two surfaces, or of a cored bore.
struct CastSize {
  Text id, feature, measured_as;
  Texts between;
  Number raw, tolerance, spread, stock;
  Text kind;
  Integer grade;
  Place place;
};
struct Core {
  Text id, note;
  Texts features;
  Number shift_x, shift_y, shift_z, turn, size, draft;
  Place place;
};
struct Gate {
  Text id, face;
  Points at;
  Number width, height;
  Place place;
};
struct Measured {
  Text table, faces, scan, unit, note;
  Texts columns;
};
struct Casting {
  Text process, model, grade, hardness, points, note;
  Integer tolerance_grade;
  Text allowance_grade;
  Number draft, parting, skin, density, mass, price, lead_time, pattern_cost, warp, texture, mismatch, scale;
  Integer min_lot;
  std::vector<CastSize> sizes;
  std::vector<Core> cores;
  std::vector<Gate> gates;
  Measured measured;
  Place place;
};

struct Locator {
  Text id, kind, on, normal, thing, note;
  Points at;
  Number repeat, stiffness, friction;
  Limits diameter, land;  ///< of a pin
  Number land_width;
  Place place;
};
struct Clamp {
  Text id, kind, on, direction, thing, lubrication, strength;
  Points at;
  Number force, torque, friction, wrench_scatter, stiffness, pull;
  Thread screw;
  Place place;
};
struct Cut {
  Text tool, kind, program, note, direction, exit;
  Texts features;
  Number speed, feed, feed_per_tooth, depth, width, length, time, stock, aim, stick_out;
  Integer passes;
  Place place;
};
/// A jaw that reaches over several parts and overhangs the vises that push it.
struct Carrier {
  Sizes size;
  Text material;
  Points pushed_at;
  Number pushed_width, height;
  Flag yaw_free;
  Place place;
};
struct Operation {
  Text id, name, kind, machine, up, zero, note, pallet_use, program;
  Integer parts, program_parts;
  Texts makes, after, does;
  Points shift, zero_at;
  Number shift_z, price, load_time, time, carrier_bend, wait, size_scatter, pitch, need, jaw_height, jaw_width,
      parallel;
  Carrier carrier;
  Limits pin_span;  ///< of a fixture's two pins
  Integer lot;
  std::vector<Locator> locators;
  std::vector<Clamp> clamps;
  std::vector<Cut> cuts;
  Place place;
};

struct Plate {
  Sizes size;
  Text material;
  Points outline;
  Number flatness;
};
/// A place where the plate is thinner (pocket) or thicker (rib).
struct Relief {
  Points at;
  Sizes size;
  Number turn, depth, diameter;
  Place place;
};
struct Anchor {
  Points at;
  Number pull_down, stiffness_up, stiffness_side, patch, chip;
  Spread repeat;
  Text thing;
  Place place;
};
struct Nest {
  Points at;
  Number turn;
  Place place;
};
struct Pin {
  Text id, kind, in, note;
  Limits diameter, land;
  Number land_width, height, lead, direction;
  Place place;
};
struct NestScrew {
  Thread thread;
  Text strength, lubrication, through;
  Number length, torque, wrench_scatter, engaged, head, shoulder, shoulder_diameter, insert_diameter;
  Points at;
  Text insert;
  Place place;
};
struct Pad {
  Points at;
  Number diameter, height, friction, stiffness;
  Text thing;
  Place place;
};
struct RunOff {
  Number width, depth, slope, exit_diameter, flow, closed_end, jet;
  Text along;
  Place place;
};
struct Pallet {
  Text name, note;
  Plate plate;
  std::vector<Anchor> anchors;
  std::vector<Nest> nests;
  std::vector<Pin> pins;
  std::vector<NestScrew> screws;
  std::vector<Pad> pads;
  std::vector<RunOff> run_offs;
  std::vector<Relief> pockets, ribs, holes;
  Limits pin_span;
  Number empty_mass, loaded_part_mass, temperature_low, temperature_high, part_temperature, cost;
  Number swap_time, probe_time, move_time, nest_move, damping, top_warmer;
  Integer on_table, sets;
  Flag defined;  ///< set by the reader when any pallet was given
  Place place;
};

struct LiftEnd {
  Number reach, height, twist;
};
struct Lift {
  Text id, what, by, coupling, note;
  LiftEnd from, to;
  Number mass, frequency, hours, capacity;
  Flag control, wet;
  Place place;
};

struct Demand {
  Number per_week, price, available, shift;
  Integer weeks, operators;
};
struct Reading {
  Text id, kind, file, feature, unit, note, tool, operation;
  Integer nest;
  Points at;
  Text direction;
  Place place;
};
/// A spread that the ledger needs, by thing and axis.
struct SpreadOf {
  Text id, of, axis, operation, note, replaces, drawn;
  Texts moves;
  Spread value;
  Place place;
};
/// Parts lost for a reason that no requirement covers, and where that shows.
struct Loss {
  Text id, operation, feature, note;
  Number share;
  Place place;
};

struct Machine {
  Text id, name, kind, note;
  Sizes travel;
  Points travel_low;  ///< machine coordinates of the low ends of the axes
  Number top_speed, power, torque, rapid, acceleration, jerk, path_tolerance, tool_change, positioning, coolant, rate,
      change_over, growth, spindle_stiffness, spindle_tilt, spindle_damping, efficiency, spindle_start, block_time, bin,
      filter, fines;
  Place place;
};
/// A measured mode of a tool in its holder and spindle, at the tip.
struct ToolMode {
  Number frequency, damping, stiffness;
  Text direction;
  Place place;
};
struct Tool {
  Text id, name, kind, spacing, material, insert;
  Integer teeth;
  Number diameter, helix, lead, corner_radius, stick_out, holder, neck, neck_length, width, life, price, spacing_step;
  Number edge_radius, wear_land, wear_factor, rake, point_angle, chamfer_threads, flute_length, elasticity,
      gauge_length;
  std::vector<ToolMode> modes;
  Integer parts_per_edge;
  Flag forms;
  Place place;
};
struct Gauge {
  Text id, name, kind;
  Texts features;
  Number uncertainty, resolution, time, smallest, largest;
  Place place;
};
struct People {
  Number rate, hours, load_time, clean_time, unload_time, deburr_time, pack_time, gauge_time, hone_time;
  Number edge_time, time_scatter, learning, first_part;
  Integer operators;
};
struct Room {
  Number temperature_low, temperature_high, part_off_machine;
};
struct StockPlate {
  Text material;
  Number thickness, price;
  Place place;
};
/// A named thing of the shop with its own measured numbers ("hard jaw").
struct Thing {
  Text id, kind, note, machine, material;
  Integer count;
  Sizes size;
  Number stiffness, friction, height;
  Place place;
};
struct Shop {
  Text name;
  std::vector<Machine> machines;
  std::vector<Tool> tools;
  std::vector<Gauge> gauges;
  std::vector<StockPlate> plates;
  std::vector<Thing> things;
  People people;
  Room room;
};

struct Plan {
  Integer version;
  Header header;
  Part part;
  std::vector<Feature> features;
  std::vector<Requirement> requirements;
  Casting casting;
  std::vector<Operation> operations;
  std::vector<Tool> tools;  ///< that this plan brings itself, beside the shop's: to buy, or set up for it alone
  Pallet pallet;
  std::vector<Lift> lifts;
  Demand demand;
  std::vector<Reading> readings;
  std::vector<SpreadOf> spreads;
  std::vector<Loss> losses;
  Shop shop;

  std::vector<SourceFile> files;     ///< files[0] is the plan
  std::vector<std::string> notices;  ///< said to the person: old version, shared files
  std::string hash;                  ///< of all files together
};

const Feature* find_feature(const Plan& plan, std::string_view id);
const Operation* find_operation(const Plan& plan, std::string_view id);
const Tool* find_tool(const Plan& plan, std::string_view id);

}  // namespace fettle::plan
