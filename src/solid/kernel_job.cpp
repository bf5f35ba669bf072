// What the child does with a request: no kernel types here, only the order of work.
#include <algorithm>
#include <cmath>
#include <csignal>

#include "base/text.h"
#include "solid/codec.h"
#include "solid/kernel.h"
#include "solid/write_pmi.h"

namespace fettle::solid {
namespace {

std::string answer(std::string bytes) { return 'A' + std::move(bytes); }
std::string refuse(const Problems& problems) { return 'P' + codec::encode(problems); }

Outcome<Model> read_model(const std::string& text, const std::string& name, const ReadOptions& options) {
  const auto loaded = load_step(text, name, options.unit_if_none);
  if (!loaded) return loaded.problems();
  Model model;
  if (const auto weighed = weigh(*loaded, name, model); !weighed) return weighed.problems();
  model.mass = options.density * model.volume;
  const Graph graph = graph_of(*loaded, options);
  model.faces = graph.faces;
  model.box = graph.faces.front().box;
  for (const Face& f : graph.faces) {
    model.area += f.area;
    model.box.lo = {std::min(model.box.lo.x, f.box.lo.x), std::min(model.box.lo.y, f.box.lo.y),
                    std::min(model.box.lo.z, f.box.lo.z)};
    model.box.hi = {std::max(model.box.hi.x, f.box.hi.x), std::max(model.box.hi.y, f.box.hi.y),
                    std::max(model.box.hi.z, f.box.hi.z)};
  }
  const Vec3 size = model.box.hi - model.box.lo;
  for (const double d : {size.x, size.y, size.z})
    if (!(d > 0 && d < 100)) {
      Problem p =
          bad("the solid's box is out of all proportion", base::shortest(d) + " m", "more than 0 and less than 100 m");
      p.where.file = name;
      return p;
    }
  find_features(graph, model);
  find_ways(graph, model);
  for (const Cut& cut : options.cuts) {
    auto section = section_of(*loaded, cut, options.chord);
    if (!section) return section.problems();
    model.sections.push_back(std::move(section.value()));
  }
  if (options.mesh_chord > 0) model.mesh = mesh_of(*loaded, options.mesh_chord, options.mesh_angle);
  return model;
}

/// What the tests of the door ask for: the four ways in which a kernel can go wrong.
int deep(int n) {
  volatile char room[4096];
  room[n % 4096] = 1;
  return n < 0 ? 0 : deep(n + 1) + room[n % 4096];
}
std::string misbehave(const std::string& how) {
  volatile double sum = 0;
  if (how == "spin") {
    for (;;) sum = sum + 1;
  }
  if (how == "crash") std::raise(SIGSEGV);
  if (how == "deep") sum = deep(1);
  if (how == "flood") {
    std::vector<std::string> heap;
    for (;;) heap.emplace_back(std::size_t{64} << 20, 'x');
  }
  return refuse({ours("unknown trouble: " + how)});
}

}  // namespace

std::string kernel_job(const std::string& job, const std::string& request) {
  codec::Reader r{request};
  if (job == "read") {
    ReadOptions options;
    std::string name, text;
    r.get(options);
    r.get(name);
    r.get(text);
    if (!r.good || !r.in.empty()) return refuse({ours("the request to the geometry child is damaged")});
    const auto model = read_model(text, name, options);
    return model ? answer(codec::encode(*model)) : refuse(model.problems());
  }
  if (job == "demo part" || job == "demo casting") {
    const auto text = job == "demo part" ? build_part() : build_casting();
    if (!text) return refuse(text.problems());
    if (job == "demo casting") return answer(*text);
    // Read back to learn the numbers of the faces, then write the drawing onto them.
    const auto model = read_model(*text, job, {});
    if (!model) return refuse(model.problems());
    const auto drawn = with_demo_drawing(*text, *model);
    return drawn ? answer(*drawn) : refuse(drawn.problems());
  }
  if (base::starts_with(job, "sample ")) {
    const auto text = build_sample(job.substr(7));
    return text ? answer(*text) : refuse(text.problems());
  }
  if (job == "rewrite") {
    std::uint64_t shuffle = 0;
    bool splines = false;
    std::string name, text;
    r.get(shuffle);
    r.get(splines);
    r.get(name);
    r.get(text);
    const auto loaded = load_step(text, name, "mm");
    if (!loaded) return refuse(loaded.problems());
    const auto again = build_again(*loaded, shuffle, splines);
    return again ? answer(*again) : refuse(again.problems());
  }
  if (job == "raw") {
    RawWish wish;
    std::string name, unit, text;
    r.get(wish);
    r.get(name);
    r.get(unit);
    r.get(text);
    if (!r.good || !r.in.empty()) return refuse({ours("the request to the geometry child is damaged")});
    const auto loaded = load_step(text, name, unit);
    if (!loaded) return refuse(loaded.problems());
    const auto raw = build_raw(*loaded, wish);
    return raw ? answer(codec::encode(*raw)) : refuse(raw.problems());
  }
  if (base::starts_with(job, "test: ")) return misbehave(job.substr(6));
  return refuse({ours("unknown geometry job: " + job)});
}

}  // namespace fettle::solid
