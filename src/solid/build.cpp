#include "solid/build.h"

#include <algorithm>
#include <iterator>

#include "base/text.h"
#include "solid/codec.h"
#include "solid/door.h"

namespace fettle::solid {

Outcome<std::string> demo_part() { return run_in_child("demo part", "", "demo part", {}); }

Outcome<std::string> demo_casting() { return run_in_child("demo casting", "", "demo casting", {}); }

Outcome<std::string> sample_solid(const std::string& which) {
  const char* const all[] = {"shaft", "slots",   "flange",  "bar",     "cover",    "box",
                             "ell",   "leaning", "stepped", "plate 6", "plate 12", "plate 24"};
  if (std::find(std::begin(all), std::end(all), which) == std::end(all))
    return bad("no such sample solid", which,
               "shaft, slots, flange, bar, cover, box, ell, leaning, stepped, plate 6, plate 12 or plate 24");
  return run_in_child("sample " + which, "", "sample", {});
}

Outcome<bool> write_demo_models(const std::string& directory) {
  const auto part = demo_part();
  if (!part) return part.problems();
  const auto casting = demo_casting();
  if (!casting) return casting.problems();
  if (auto written = base::write_file(directory + "/wvb3.step", *part); !written) return written;
  return base::write_file(directory + "/wvb3-casting.step", *casting);
}

Outcome<std::string> rewrite_step(const std::string& text, const std::string& name, const Rewrite& how) {
  codec::Writer request;
  request.put(how.shuffle);
  request.put(how.splines);
  request.put(name);
  request.put(text);
  return run_in_child("rewrite", request.out, name, {});
}

}  // namespace fettle::solid
