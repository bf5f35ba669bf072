#include "app/serve/plan_models.h"

#include <fmt/format.h>

#include <filesystem>

namespace fettle::serve {

namespace {

constexpr std::size_t most_triangles = 60000, most_kept = 8;

}  // namespace

ModelPtr model_of(const Folder& folder, Open& o, const plan::Text& named, std::vector<std::string>& notes) {
  if (!named.given()) return nullptr;
  const auto file = std::filesystem::path(o.full).parent_path() / named.value;
  std::error_code error;
  if (!folder.holds(file.string()) || !std::filesystem::is_regular_file(file, error)) {
    notes.push_back(named.value + ": there is no such file");
    return nullptr;
  }
  const std::string key =
      fmt::format("{} {} {}", named.value, std::filesystem::last_write_time(file, error).time_since_epoch().count(),
                  std::filesystem::file_size(file, error));
  if (const auto it = o.models.find(key); it != o.models.end()) return it->second;
  for (const double chord : {1e-4, 4e-4, 1.6e-3}) {
    solid::ReadOptions options;
    options.mesh_chord = chord;
    options.samples_per_face = 1;
    auto m = solid::read_step(file.string(), options);
    if (!m.ok()) {
      Problem p = m.problem();
      p.where.file = named.value;
      notes.push_back(say(p));
      return nullptr;
    }
    if (m->mesh.triangles.size() > most_triangles) continue;
    if (o.models.size() >= most_kept) o.models.clear();
    return o.models[key] = std::make_shared<const solid::Model>(std::move(m.value()));
  }
  notes.push_back(named.value + ": its surface is too fine to be drawn here");
  return nullptr;
}

}  // namespace fettle::serve
