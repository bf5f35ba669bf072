#include "solid/raw.h"

#include "solid/codec.h"
#include "solid/door.h"
#include "step/part21.h"

namespace fettle::solid {

Outcome<RawModel> raw_model(const std::string& step, const std::string& name, const std::string& unit_if_none,
                            const RawWish& wish) {
  const auto file = step::parse(step, name);  // what the kernel would hang on is refused here, as when reading
  if (!file.ok()) return file.problems();
  codec::Writer request;
  request.put(wish);
  request.put(name);
  request.put(unit_if_none);
  request.put(step::slim_copy(*file));
  Limits limits;
  limits.cpu_seconds = 120, limits.wall_seconds = 240;  // booleans, one feature after the other where all at once fail
  const auto bytes = run_in_child("raw", request.out, name, limits);
  if (!bytes) return bytes.problems();
  RawModel out;
  if (!codec::decode(*bytes, out)) return ours("the answer of the geometry child is damaged");
  return out;
}

}  // namespace fettle::solid
