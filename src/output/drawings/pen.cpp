#include "output/drawings/pen.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <pango/pangocairo.h>
#include <pango/pangofc-fontmap.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "output/drawings/fonts.h"

namespace fettle::drawings {
namespace {

constexpr double text_units =
    20;  // pango lays text out in twentieths of a millimetre, so that its rounding is not seen
constexpr double cap_height = 0.668;
constexpr double pt_per_mm = 72 / 25.4;
constexpr double svg_units = 10;  // per mm

struct Colour {
  double r, g, b;
};
Colour colour(Ink ink, Ground ground) {
  switch (ink) {
    case Ink::graphite:
      return {0x26 / 255.0, 0x29 / 255.0, 0x2c / 255.0};
    case Ink::grey:
      return {0x5c / 255.0, 0x60 / 255.0, 0x65 / 255.0};
    case Ink::light:
      return {0xa9 / 255.0, 0xa6 / 255.0, 0x9b / 255.0};
    case Ink::accent:
      return {0xb8 / 255.0, 0x48 / 255.0, 0x1a / 255.0};
    case Ink::ground:
      break;
  }
  return ground == Ground::chalk ? Colour{0xf5 / 255.0, 0xf2 / 255.0, 0xea / 255.0} : Colour{1, 1, 1};
}

/// A string that cairo's stream writers append to.
cairo_status_t append(void* to, const unsigned char* data, unsigned int n) {
  static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), n);
  return CAIRO_STATUS_SUCCESS;
}

/// Pango's font map is not shared between threads; each thread keeps one.
struct Fonts {
  PangoFontMap* map = nullptr;
  PangoContext* context = nullptr;
  std::string problem;
  Fonts() {
    FcConfig* config = font_config(&problem);
    if (!config) return;
    map = pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT);
    if (!map) {
      problem = "pango has no FreeType fonts";
      return;
    }
    pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(map), config);
    context = pango_font_map_create_context(map);
    pango_context_set_language(context, pango_language_from_string("en"));
    pango_context_set_round_glyph_positions(context, FALSE);
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(context, options);
    cairo_font_options_destroy(options);
  }
  ~Fonts() {
    if (context) g_object_unref(context);
    if (map) g_object_unref(map);
  }
};
Fonts& fonts() {
  static thread_local Fonts made;
  return made;
}

/// A stretch of a rich text: bytes [from, to) of the printed text.
struct Span {
  std::size_t from, to;
  bool value;  ///< else: needs a hand
};
struct Rich {
  std::string text;
  std::vector<Span> spans;
};

void append_clean(std::string& out, std::string_view text) {
  const char* p = text.data();
  const char* end = p + text.size();
  while (p < end) {
    const gunichar c = g_utf8_get_char_validated(p, end - p);
    if (c == static_cast<gunichar>(-1) || c == static_cast<gunichar>(-2)) {
      out += "\xEF\xBF\xBD";
      ++p;
      continue;
    }
    const std::size_t n = static_cast<std::size_t>(g_utf8_next_char(p) - p);
    // Control characters, line separators and marks that turn the writing direction would let one text spoil its line.
    const bool turns = (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069) || c == 0x200E || c == 0x200F;
    if (c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x2028 || c == 0x2029 || turns) out += ' ';
    else if (c == 0x202F || c == 0x2009 || c == 0x2007)  // narrow blanks that the fonts lack
      out += "\xC2\xA0";
    else out.append(p, n);
    p += n;
  }
}

Rich rich_of(std::string_view text, bool rich) {
  Rich out;
  if (!rich) {
    append_clean(out.text, text);
    return out;
  }
  std::size_t at = 0;
  while (at < text.size()) {
    const char c = text[at];
    const std::size_t end = c == '`' || c == '*' ? text.find(c, at + 1) : std::string_view::npos;
    if (end != std::string_view::npos && end > at + 1) {
      const std::size_t from = out.text.size();
      append_clean(out.text, text.substr(at + 1, end - at - 1));
      out.spans.push_back({from, out.text.size(), c == '`'});
      at = end + 1;
      continue;
    }
    std::size_t next = at + 1;
    while (next < text.size() && text[next] != '`' && text[next] != '*') ++next;
    append_clean(out.text, text.substr(at, next - at));
    at = next;
  }
  return out;
}

struct Layout {
  PangoLayout* layout = nullptr;
  Rich rich;
  ~Layout() {
    if (layout) g_object_unref(layout);
  }
};

constexpr const char* text_family = "Atkinson Hyperlegible,Fettle Signs";
constexpr const char* mono_family = "Atkinson Hyperlegible Mono,Fettle Signs,Atkinson Hyperlegible";

void lay_out(Layout& out, std::string_view text, const TextStyle& style) {
  out.rich = rich_of(text, style.rich);
  out.layout = pango_layout_new(fonts().context);
  PangoFontDescription* font = pango_font_description_new();
  pango_font_description_set_family_static(font, style.mono ? mono_family : text_family);
  pango_font_description_set_weight(font, style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font, style.size * text_units * PANGO_SCALE);
  pango_layout_set_font_description(out.layout, font);
  pango_font_description_free(font);
  pango_layout_set_text(out.layout, out.rich.text.data(), static_cast<int>(out.rich.text.size()));
  PangoAttrList* attributes = pango_attr_list_new();
  pango_attr_list_insert(attributes, pango_attr_insert_hyphens_new(FALSE));
  for (const Span& span : out.rich.spans) {
    if (!span.value) continue;
    PangoAttribute* family = pango_attr_family_new(mono_family);
    family->start_index = static_cast<guint>(span.from);
    family->end_index = static_cast<guint>(span.to);
    pango_attr_list_insert(attributes, family);
  }
  pango_layout_set_attributes(out.layout, attributes);
  pango_attr_list_unref(attributes);
  pango_layout_set_auto_dir(out.layout, FALSE);
  pango_layout_set_wrap(out.layout, PANGO_WRAP_WORD_CHAR);
  if (style.wrap > 0) {
    pango_layout_set_width(out.layout, static_cast<int>(style.wrap * text_units * PANGO_SCALE));
    if (style.max_lines > 0) {
      pango_layout_set_height(out.layout, -style.max_lines);
      pango_layout_set_ellipsize(out.layout, PANGO_ELLIPSIZE_END);
    }
    if (style.align != Align::left)
      pango_layout_set_alignment(out.layout, style.align == Align::right ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_CENTER);
  }
}

double mm(int pango) { return pango / (text_units * PANGO_SCALE); }

TextSize size_of(const Layout& laid, const TextStyle& style) {
  PangoRectangle logical;
  pango_layout_get_extents(laid.layout, nullptr, &logical);
  TextSize size;
  size.width = style.wrap > 0 ? style.wrap : mm(logical.width);
  size.height = mm(logical.height);
  size.baseline = mm(pango_layout_get_baseline(laid.layout));
  size.lines = pango_layout_get_line_count(laid.layout);
  return size;
}

}  // namespace

Path& Path::move(Point p) {
  steps_.push_back({Step::Kind::move, p});
  return *this;
}
Path& Path::line(Point p) {
  steps_.push_back({Step::Kind::line, p});
  return *this;
}
Path& Path::arc(Point centre, double radius, double from, double to) {
  steps_.push_back({Step::Kind::arc, centre, radius, from, to});
  return *this;
}
Path& Path::close() {
  steps_.push_back({Step::Kind::close, {}});
  return *this;
}
Path& Path::add(const Path& other) {
  steps_.insert(steps_.end(), other.steps_.begin(), other.steps_.end());
  return *this;
}
Path Path::polyline(const std::vector<Point>& points) {
  Path path;
  for (std::size_t i = 0; i < points.size(); ++i) i ? path.line(points[i]) : path.move(points[i]);
  return path;
}
Path Path::polygon(const std::vector<Point>& points) {
  Path path = polyline(points);
  if (!points.empty()) path.close();
  return path;
}
Path Path::circle(Point centre, double diameter) {
  Path path;
  path.move({centre.x + diameter / 2, centre.y}).arc(centre, diameter / 2, 0, 2 * std::numbers::pi).close();
  return path;
}
Path Path::box(const Box& box, double corner) {
  const double r = std::max(0.0, std::min({corner, box.width / 2, box.height / 2}));
  constexpr double quarter = std::numbers::pi / 2;
  if (!(r > 0))
    return polygon({{box.x, box.y}, {box.right(), box.y}, {box.right(), box.bottom()}, {box.x, box.bottom()}});
  Path path;
  path.move({box.x + r, box.y}).arc({box.right() - r, box.y + r}, r, -quarter, 0);
  path.arc({box.right() - r, box.bottom() - r}, r, 0, quarter)
      .arc({box.x + r, box.bottom() - r}, r, quarter, 2 * quarter);
  path.arc({box.x + r, box.y + r}, r, 2 * quarter, 3 * quarter).close();
  return path;
}
Path Path::segment(Point a, Point b) {
  Path path;
  path.move(a).line(b);
  return path;
}

TextSize measure(std::string_view text, const TextStyle& style) {
  if (text.empty()) return {};
  if (!fonts().context) return {};
  Layout laid;
  lay_out(laid, text, style);
  return size_of(laid, style);
}

std::string printable(std::string_view text, bool rich) { return rich_of(text, rich).text; }

struct Pen::Impl {
  cairo_t* cr = nullptr;
  Ground ground = Ground::none;
  double base = 1;  ///< device units per mm
  bool pdf = false;
  int page = 1;
  Record record;
  std::vector<Box> clips;

  void ink(Ink which) {
    const Colour c = colour(which, ground);
    cairo_set_source_rgb(cr, c.r, c.g, c.b);
  }
  void lay(const Path& path) {
    cairo_new_path(cr);
    bool open = false;
    for (const Path::Step& step : path.steps()) switch (step.kind) {
        case Path::Step::Kind::move:
          cairo_move_to(cr, step.p.x, step.p.y);
          open = true;
          break;
        case Path::Step::Kind::line:
          cairo_line_to(cr, step.p.x, step.p.y);
          break;
        case Path::Step::Kind::arc:
          if (!open) cairo_new_sub_path(cr);
          open = true;
          if (step.to >= step.from) cairo_arc(cr, step.p.x, step.p.y, step.r, step.from, step.to);
          else cairo_arc_negative(cr, step.p.x, step.p.y, step.r, step.from, step.to);
          break;
        case Path::Step::Kind::close:
          cairo_close_path(cr);
          open = false;
          break;
      }
  }
  Box to_page(double x1, double y1, double x2, double y2) const {
    Box box{1e9, 1e9, 0, 0};
    double right = -1e9, bottom = -1e9;
    for (int i = 0; i < 4; ++i) {
      double x = i & 1 ? x1 : x2, y = i & 2 ? y1 : y2;
      cairo_user_to_device(cr, &x, &y);
      box.x = std::min(box.x, x / base);
      box.y = std::min(box.y, y / base);
      right = std::max(right, x / base);
      bottom = std::max(bottom, y / base);
    }
    box.width = right - box.x;
    box.height = bottom - box.y;
    return box;
  }
  void seen(Box box) {
    double left = box.x, top = box.y, right = box.right(), bottom = box.bottom();
    for (const Box& clip : clips) {
      left = std::max(left, clip.x);
      top = std::max(top, clip.y);
      right = std::min(right, clip.right());
      bottom = std::min(bottom, clip.bottom());
    }
    if (!(right >= left) || !(bottom >= top)) return;
    record.left = std::min(record.left, left);
    record.top = std::min(record.top, top);
    record.right = std::max(record.right, right);
    record.bottom = std::max(record.bottom, bottom);
  }
};

namespace {
bool finite(const Path& path) {
  return std::all_of(path.steps().begin(), path.steps().end(), [](const Path::Step& s) {
    return std::isfinite(s.p.x) && std::isfinite(s.p.y) && std::isfinite(s.r) && std::isfinite(s.from) &&
           std::isfinite(s.to);
  });
}
}  // namespace

void Pen::stroke(const Path& path, const Stroke& stroke) {
  if (!finite(path)) return;
  cairo_t* cr = impl_.cr;
  impl_.lay(path);
  impl_.ink(stroke.ink);
  cairo_set_line_width(cr, stroke.width);
  cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
  cairo_set_line_cap(cr, stroke.dash == Dash::dotted ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
  const double dashed[] = {1.6, 1.1}, dotted[] = {0.001, 2.4 * stroke.width}, chain[] = {4.5, 1, 0.8, 1},
               fine[] = {0.8, 0.6};
  switch (stroke.dash) {
    case Dash::solid:
      cairo_set_dash(cr, nullptr, 0, 0);
      break;
    case Dash::dashed:
      cairo_set_dash(cr, dashed, 2, 0);
      break;
    case Dash::fine:
      cairo_set_dash(cr, fine, 2, 0);
      break;
    case Dash::dotted:
      cairo_set_dash(cr, dotted, 2, 0);
      break;
    case Dash::chain:
      cairo_set_dash(cr, chain, 4, 0);
      break;
  }
  double x1, y1, x2, y2;
  cairo_path_extents(cr, &x1, &y1, &x2, &y2);
  const double half = stroke.width / 2;
  if (!path.steps().empty()) impl_.seen(impl_.to_page(x1 - half, y1 - half, x2 + half, y2 + half));
  cairo_stroke(cr);
}

void Pen::fill(const Path& path, Ink ink) {
  if (!finite(path) || path.steps().empty()) return;
  impl_.lay(path);
  impl_.ink(ink);
  double x1, y1, x2, y2;
  cairo_path_extents(impl_.cr, &x1, &y1, &x2, &y2);
  impl_.seen(impl_.to_page(x1, y1, x2, y2));
  cairo_fill(impl_.cr);
}

void Pen::hatch(const Path& path, Hatch hatch) {
  if (!finite(path) || path.steps().empty()) return;
  struct Kind {
    double gap, width;
    Ink ink;
    bool falling;
  };
  const Kind kind = hatch == Hatch::outside ? Kind{1.5, 0.75, Ink::accent, false}
                    : hatch == Hatch::tight ? Kind{1.1, 0.25, Ink::graphite, false}
                    : hatch == Hatch::metal ? Kind{1.2, 0.13, Ink::grey, true}
                                            : Kind{2.2, 0.13, Ink::grey, false};
  cairo_t* cr = impl_.cr;
  impl_.lay(path);
  double x1, y1, x2, y2;
  cairo_path_extents(cr, &x1, &y1, &x2, &y2);
  impl_.seen(impl_.to_page(x1, y1, x2, y2));
  cairo_save(cr);
  cairo_clip(cr);
  const double step = kind.gap * std::numbers::sqrt2;  // along the axis, for strokes at 45 degrees
  const double high = y2 - y1;
  // The phase hangs on the origin, so that neighbouring hatched fields join.
  const double shift = kind.falling ? y1 : -y1;
  double first = std::floor((x1 - high + shift) / step) * step - shift;
  const int most = 20000;
  cairo_new_path(cr);
  for (int i = 0; i < most; ++i) {
    const double x = first + i * step;
    if (!(x <= x2 + high)) break;
    cairo_move_to(cr, x, kind.falling ? y1 : y2);
    cairo_line_to(cr, x + high, kind.falling ? y2 : y1);
  }
  impl_.ink(kind.ink);
  cairo_set_line_width(cr, kind.width);
  cairo_set_line_cap(cr, CAIRO_LINE_CAP_SQUARE);
  cairo_set_dash(cr, nullptr, 0, 0);
  cairo_stroke(cr);
  cairo_restore(cr);
}

Box Pen::text(Point at, std::string_view text, const TextStyle& style) {
  if (!fonts().context || text.empty() || !std::isfinite(at.x) || !std::isfinite(at.y)) return {at.x, at.y, 0, 0};
  cairo_t* cr = impl_.cr;
  Layout laid;
  lay_out(laid, text, style);
  const TextSize size = size_of(laid, style);
  Box box{at.x, at.y, size.width, size.height};
  if (style.align == Align::centre) box.x -= size.width / 2;
  if (style.align == Align::right) box.x -= size.width;
  PangoRectangle drawn;
  pango_layout_get_extents(laid.layout, &drawn, nullptr);
  const Box inked{box.x + mm(drawn.x), box.y + mm(drawn.y), mm(drawn.width), mm(drawn.height)};
  const double em = style.size;
  if (style.halo)
    fill(Path::box({inked.x - 0.12 * em, inked.y - 0.1 * em, inked.width + 0.24 * em, inked.height + 0.2 * em}),
         Ink::ground);
  for (const Span& span : laid.rich.spans) {
    if (span.value) continue;
    PangoLayoutIter* line = pango_layout_get_iter(laid.layout);
    do {
      PangoLayoutLine* l = pango_layout_iter_get_line_readonly(line);
      const int from = std::max(static_cast<int>(span.from), l->start_index);
      const int to = std::min(static_cast<int>(span.to), l->start_index + l->length);
      if (from >= to) continue;
      PangoRectangle logical;
      pango_layout_iter_get_line_extents(line, nullptr, &logical);
      int x_from = 0, x_to = 0;
      pango_layout_line_index_to_x(l, from, FALSE, &x_from);
      pango_layout_line_index_to_x(l, to, FALSE, &x_to);
      const double y = box.y + mm(pango_layout_iter_get_baseline(line)) + 0.2 * em;
      const double x = box.x + mm(logical.x);
      stroke(Path::segment({x + mm(x_from), y}, {x + mm(x_to), y}), {0.09 * em, Ink::accent});
    } while (pango_layout_iter_next_line(line));
    pango_layout_iter_free(line);
  }
  cairo_save(cr);
  cairo_translate(cr, box.x, box.y);
  cairo_scale(cr, 1 / text_units, 1 / text_units);
  cairo_move_to(cr, 0, 0);
  impl_.ink(style.ink);
  pango_cairo_show_layout(cr, laid.layout);
  cairo_new_path(cr);
  cairo_restore(cr);
  impl_.record.unknown_glyphs += pango_layout_get_unknown_glyphs_count(laid.layout);
  const Box on_page = impl_.to_page(inked.x, inked.y, inked.right(), inked.bottom());
  impl_.seen(on_page);
  impl_.record.texts.push_back({on_page, laid.rich.text});
  return box;
}

Box Pen::label(Point at, std::string_view text, const TextStyle& style) {
  TextStyle one = style;
  one.max_lines = 1;
  const TextSize size = measure(text, one);
  return this->text({at.x, at.y - size.baseline + cap_height * style.size / 2}, text, one);
}

void Pen::turned(Point at, double angle, std::string_view text, const TextStyle& style) {
  if (!std::isfinite(angle) || !std::isfinite(at.x) || !std::isfinite(at.y)) return;
  TextStyle one = style;
  one.align = Align::centre;
  cairo_save(impl_.cr);
  cairo_translate(impl_.cr, at.x, at.y);
  cairo_rotate(impl_.cr, angle);
  label({0, 0}, text, one);
  cairo_restore(impl_.cr);
}

void Pen::moved(Point by, const std::function<void()>& what) {
  if (!std::isfinite(by.x) || !std::isfinite(by.y)) return;
  cairo_save(impl_.cr);
  cairo_translate(impl_.cr, by.x, by.y);
  what();
  cairo_restore(impl_.cr);
}

void Pen::clipped(const Path& to, const std::function<void()>& what) {
  if (!finite(to)) return;
  cairo_save(impl_.cr);
  impl_.lay(to);
  double x1, y1, x2, y2;
  cairo_path_extents(impl_.cr, &x1, &y1, &x2, &y2);
  impl_.clips.push_back(impl_.to_page(x1, y1, x2, y2));
  cairo_clip(impl_.cr);
  what();
  impl_.clips.pop_back();
  cairo_restore(impl_.cr);
}

void Pen::bookmark(std::string_view title) {
  if (!impl_.pdf) return;
  const std::string link = "page=" + std::to_string(impl_.page);
  cairo_pdf_surface_add_outline(cairo_get_target(impl_.cr), CAIRO_PDF_OUTLINE_ROOT, printable(title).c_str(),
                                link.c_str(), static_cast<cairo_pdf_outline_flags_t>(0));
}

namespace {

constexpr double largest_sheet = 5000;  // mm

Outcome<bool> check(const Drawing& drawing) {
  if (!fonts().context) return Problem{Fault::environment, {}, fonts().problem, {}, {}, {}};
  const bool sized =
      drawing.width > 0 && drawing.height > 0 && drawing.width <= largest_sheet && drawing.height <= largest_sheet;
  if (!sized) return ours("a drawing of no usable size");
  if (!drawing.draw) return ours("a drawing without content");
  return true;
}

Record play(const Drawing& drawing, cairo_t* cr, double base, Ground ground, bool pdf, int page) {
  Pen::Impl impl;
  impl.cr = cr;
  impl.ground = ground;
  impl.base = base;
  impl.pdf = pdf;
  impl.page = page;
  if (ground == Ground::chalk) {
    impl.ink(Ink::ground);
    cairo_paint(cr);
  }
  Pen pen(impl);
  drawing.draw(pen);
  return impl.record;
}

std::string xml(std::string_view text) {
  std::string out;
  for (char c : printable(text)) switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  return out;
}

/// Puts `to` for the first `from`; false when there is none.
bool put_for(std::string& in, const std::string& from, const std::string& to) {
  const std::size_t at = in.find(from);
  if (at == std::string::npos) return false;
  in.replace(at, from.size(), to);
  return true;
}

/// The surface works in tenths of a millimetre, since it rounds glyphs to a 64th of its unit; the sheet's size is said
/// in millimetres again. It numbers its surfaces through the life of the program: that number goes. Names inside the
/// file get a head of their own, so that several drawings can stand in one page.
void settle(std::string& svg, const Drawing& drawing) {
  const auto attribute = [&](const std::string& name, double mm) {
    const std::size_t at = svg.find(" " + name + "=\""),
                      end = at == std::string::npos ? at : svg.find('"', at + name.size() + 3);
    if (end != std::string::npos) svg.replace(at, end - at, " " + name + "=\"" + base::fixed(mm, 3) + "mm");
  };
  attribute("width", drawing.width);
  attribute("height", drawing.height);
  const std::string numbered = " id=\"surface";
  const std::size_t at = svg.find(numbered);
  if (at != std::string::npos) put_for(svg, svg.substr(at, svg.find('"', at + numbered.size()) - at), " id=\"sheet");
  const std::string own = "f" + base::hash_hex(svg).substr(0, 8) + "-";
  for (const std::string mark : {" id=\"", "xlink:href=\"#", "url(#"})
    for (std::size_t next = svg.find(mark); next != std::string::npos;
         next = svg.find(mark, next + mark.size() + own.size()))
      svg.insert(next + mark.size(), own);
}

bool is_date(const std::string& s) {
  if (s.size() != 10 || s[4] != '-' || s[7] != '-') return false;
  for (int i : {0, 1, 2, 3, 5, 6, 8, 9})
    if (s[static_cast<std::size_t>(i)] < '0' || s[static_cast<std::size_t>(i)] > '9') return false;
  const int month = (s[5] - '0') * 10 + s[6] - '0', day = (s[8] - '0') * 10 + s[9] - '0';
  return month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

Outcome<Rendered> finish(cairo_surface_t* surface, cairo_t* cr, Rendered& out) {
  cairo_status_t status = cairo_status(cr);
  cairo_destroy(cr);
  cairo_surface_finish(surface);
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (status != CAIRO_STATUS_SUCCESS) return ours(std::string("the drawing failed: ") + cairo_status_to_string(status));
  return std::move(out);
}

}  // namespace

Outcome<Rendered> to_svg(const Drawing& drawing, const Stamp& stamp, Ground ground) {
  if (auto fit = check(drawing); !fit) return fit.problems();
  Rendered out;
  cairo_surface_t* surface =
      cairo_svg_surface_create_for_stream(append, &out.bytes, drawing.width * svg_units, drawing.height * svg_units);
  cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_MM);
  cairo_t* cr = cairo_create(surface);
  cairo_scale(cr, svg_units, svg_units);
  out.pages.push_back(play(drawing, cr, svg_units, ground, false, 1));
  Outcome<Rendered> done = finish(surface, cr, out);
  if (!done) return done;
  std::string& svg = done->bytes;
  settle(svg, drawing);
  const std::size_t head = svg.find("<svg");
  const std::size_t end = head == std::string::npos ? head : svg.find('>', head);
  if (end == std::string::npos) return ours("the drawing has no SVG head");
  std::string words = "\n<title>" + xml(drawing.title.empty() ? stamp.title : drawing.title) + "</title>\n<desc>";
  for (const Placed& placed : done->pages[0].texts) words += xml(placed.text) + "\n";
  words += xml(stamp.version) + "</desc>";
  svg.insert(end + 1, words);
  svg.insert(end, " role=\"img\"");
  return done;
}

Outcome<Rendered> to_png(const Drawing& drawing, double dots_per_inch, Ground ground) {
  if (auto fit = check(drawing); !fit) return fit.problems();
  if (!(dots_per_inch >= 20 && dots_per_inch <= 1200)) return ours("a PNG needs 20 to 1200 dots per inch");
  const double scale = dots_per_inch / 25.4;
  const int width = static_cast<int>(std::ceil(drawing.width * scale)),
            height = static_cast<int>(std::ceil(drawing.height * scale));
  if (width > 20000 || height > 20000) return ours("a PNG of more than 20000 dots a side");
  Rendered out;
  cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
  cairo_t* cr = cairo_create(surface);
  cairo_set_source_rgb(cr, 1, 1, 1);
  cairo_paint(cr);
  cairo_scale(cr, scale, scale);
  out.pages.push_back(play(drawing, cr, scale, ground, false, 1));
  cairo_surface_flush(surface);
  cairo_surface_write_to_png_stream(surface, append, &out.bytes);
  return finish(surface, cr, out);
}

Outcome<Rendered> to_pdf(const std::vector<Drawing>& pages, const Stamp& stamp, Ground ground) {
  if (pages.empty()) return ours("a paper without pages");
  for (const Drawing& page : pages)
    if (auto fit = check(page); !fit) return fit.problems();
  Rendered out;
  cairo_surface_t* surface =
      cairo_pdf_surface_create_for_stream(append, &out.bytes, pages[0].width * pt_per_mm, pages[0].height * pt_per_mm);
  cairo_pdf_surface_restrict_to_version(surface, CAIRO_PDF_VERSION_1_5);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, printable(stamp.title).c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, printable(stamp.version).c_str());
  const std::string day = is_date(stamp.date) ? stamp.date : "2000-01-01";
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, (day + "T00:00:00Z").c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, (day + "T00:00:00Z").c_str());
  cairo_t* cr = cairo_create(surface);
  int number = 0;
  for (const Drawing& page : pages) {
    cairo_pdf_surface_set_size(surface, page.width * pt_per_mm, page.height * pt_per_mm);
    cairo_identity_matrix(cr);
    cairo_scale(cr, pt_per_mm, pt_per_mm);
    out.pages.push_back(play(page, cr, pt_per_mm, ground, true, ++number));
    cairo_show_page(cr);
  }
  return finish(surface, cr, out);
}

}  // namespace fettle::drawings
