// The two dialects that come with the product, written as a file of one's own would be.
#include "base/text.h"
#include "output/programs/dialect.h"

namespace fettle::programs {

namespace {

constexpr const char* classic = R"toml(# Classic: numbered programs, M98 and M99, IF ... GOTO, numbered parameters.
name = "classic"
words = "numbered programs, M98 and M99, IF ... GOTO"
file_end = "nc"
jumps = true
subs_first = false
decimals_mm = 4
decimals_inch = 5
first_kept = 500
first_work = 100
first_label = 9001
probe_results = [5061, 5062, 5063]
most_zeros = 48
longest_line = 76

[lines]
program_start = ["%", "O{number} ({title})"]
program_end = ["M30"]
file_end = ["%"]
remark = ["({words})"]
units_mm = ["G21"]
units_inch = ["G20"]
safe_start = ["M5", "M9", "G17 G40 G80 G90 G94 G49", "G53 G0 Z0"]
retract = ["G53 G0 Z0"]
tool_change = ["T{tool} M6 ({words})"]
spindle_on = ["S{speed} M3"]
spindle_off = ["M5"]
coolant_on = ["M8"]
coolant_off = ["M9"]
stop = ["M0 ({words})"]
optional_stop = ["M1 ({words})"]
zero = ["G54.1 P{n} ({words})"]
write_zero = ["G10 L20 P{n} X[{x}] Y[{y}] Z[{z}] ({words})"]
length_on = ["G43 H{tool} G0 Z{z}"]
rapid = ["G0{place}"]
line = ["G1{place}{feed}"]
arc_clockwise = ["G2{place}{centre}{feed}"]
arc_counter = ["G3{place}{centre}{feed}"]
probe = ["G31{place}{feed}"]
drill = ["G98 G81{place} Z{z} R{r}{feed}"]
peck = ["G98 G83{place} Z{z} R{r} Q{q}{feed}"]
tap = ["G98 G84{place} Z{z} R{r}{feed}"]
bore_out_at_feed = ["G98 G85{place} Z{z} R{r}{feed}"]
bore_stop_out = ["G98 G86{place} Z{z} R{r} P0{feed}"]
cycle_end = ["G80"]
dwell = ["G4 P{seconds}"]
set = ["#{parameter} = {value}"]
jump_if = ["IF [{condition}] GOTO {label}"]
jump = ["GOTO {label}"]
label = ["N{label}"]
sub_start = ["O{number} ({words})"]
sub_end = ["M99"]
call = ["M98 P{number}"]
)toml";

constexpr const char* o_words =
    R"toml(# O words: named blocks after the report of the NIST on its interpreter, and the O words that grew from it.
name = "o words"
words = "o... sub, o... if, G54 to G59.3"
file_end = "ngc"
jumps = false
subs_first = true
decimals_mm = 4
decimals_inch = 5
first_kept = 500
first_work = 100
first_label = 9001
probe_results = [5061, 5062, 5063]
zeros = ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]
most_zeros = 9
longest_line = 76

[lines]
program_start = ["%", "({title})"]
program_end = ["M2"]
file_end = ["%"]
remark = ["({words})"]
units_mm = ["G21"]
units_inch = ["G20"]
safe_start = ["M5", "M9", "G17 G40 G80 G90 G94 G49", "G53 G0 Z0"]
retract = ["G53 G0 Z0"]
tool_change = ["T{tool} M6 ({words})"]
spindle_on = ["S{speed} M3"]
spindle_off = ["M5"]
coolant_on = ["M8"]
coolant_off = ["M9"]
stop = ["M0 ({words})"]
optional_stop = ["M1 ({words})"]
zero = ["{zero} ({words})"]
write_zero = ["G10 L2 P{n} X[{x}] Y[{y}] Z[{z}] ({words})"]
length_on = ["G43 H{tool}", "G0 Z{z}"]
rapid = ["G0{place}"]
line = ["G1{place}{feed}"]
arc_clockwise = ["G2{place}{centre}{feed}"]
arc_counter = ["G3{place}{centre}{feed}"]
probe = ["G38.2{place}{feed}"]
drill = ["G98 G81{place} Z{z} R{r}{feed}"]
peck = ["G98 G83{place} Z{z} R{r} Q{q}{feed}"]
tap = ["G98 G84{place} Z{z} R{r}{feed}"]
bore_out_at_feed = ["G98 G85{place} Z{z} R{r}{feed}"]
bore_stop_out = ["G98 G86{place} Z{z} R{r} P0{feed}"]
cycle_end = ["G80"]
dwell = ["G4 P{seconds}"]
set = ["#{parameter} = {value}"]
when_begin = ["o{label} if [{condition}]"]
when_end = ["o{label} endif"]
again_begin = ["o{label} while [{condition}]"]
again_end = ["o{label} endwhile"]
label = ["(block {label})"]
sub_start = ["o{number} sub ({words})"]
sub_end = ["o{number} endsub"]
call = ["o{number} call"]
)toml";

}  // namespace

std::vector<std::string> dialect_names() { return {"classic", "o words"}; }

Outcome<std::string> dialect_text(const std::string& name) {
  if (name == "classic") return std::string(classic);
  if (name == "o words" || name == "o-words") return std::string(o_words);
  if (name.size() > 5 && name.substr(name.size() - 5) == ".toml") return base::read_file(name, std::size_t{1} << 20);
  const std::vector<std::string> names = dialect_names();
  return bad("no such dialect", name, base::join(names, ", ") + ", or a file that ends in .toml",
             base::nearest(name, names));
}

}  // namespace fettle::programs
