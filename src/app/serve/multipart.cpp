#include "app/serve/multipart.h"

#include "base/text.h"

namespace fettle::serve {

namespace {

const char* const form = "multipart/form-data with parts that have names";

/// What stands in quotes behind `name=`.
std::string quoted(const std::string& head, const std::string& name) {
  for (std::size_t at = head.find(name + "=\""); at != std::string::npos; at = head.find(name + "=\"", at + 1)) {
    if (at > 0 && head[at - 1] != ' ' && head[at - 1] != ';') continue;  // "filename" ends in "name"
    const std::size_t from = at + name.size() + 2, to = head.find('"', from);
    return to == std::string::npos ? std::string() : head.substr(from, to - from);
  }
  return {};
}

std::string boundary_of(const std::string& type) {
  const std::size_t at = base::lower(type).find("boundary=");
  if (at == std::string::npos) return {};
  std::string out = type.substr(at + 9);
  out = out.front() == '"' ? out.substr(1, out.find('"', 1) - 1) : out.substr(0, out.find(';'));
  return out.size() > 100 ? std::string() : out;
}

}  // namespace

Outcome<Parts> parts_of(const std::string& type, const std::string& body) {
  const std::string name = type.size() < 1000 ? boundary_of(type + " ") : std::string();
  const std::string edge = "--" + std::string(base::trim(name));
  if (edge.size() < 3 || body.compare(0, edge.size(), edge) != 0) return bad("no form", type.substr(0, 80), form);
  Parts out;
  std::size_t at = edge.size();
  while (body.compare(at, 2, "\r\n") == 0) {
    const std::size_t head_end = body.find("\r\n\r\n", at);
    if (head_end == std::string::npos || head_end - at > 2048) return bad("a part without a head", "", form);
    const std::string head = body.substr(at + 2, head_end - at - 2);
    const std::size_t end = body.find("\r\n" + edge, head_end + 2);
    if (end == std::string::npos) return bad("a part without an end", "", form);
    const std::string field = quoted(head, "name");
    if (field.empty() || out.size() >= 20) return bad("a part without a name, or too many parts", field, form);
    const std::size_t from = std::min(head_end + 4, end);
    out[field] = {quoted(head, "filename"), body.substr(from, end - from)};
    at = end + 2 + edge.size();
  }
  if (body.compare(at, 2, "--") != 0) return bad("the form is cut off", "", form);
  return out;
}

}  // namespace fettle::serve
