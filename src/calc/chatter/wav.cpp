#include "calc/chatter/wav.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>

namespace fettle::chatter {

namespace {

std::uint64_t little(std::string_view b, std::size_t at, int bytes) {
  std::uint64_t x = 0;
  for (int i = bytes - 1; i >= 0; --i) x = (x << 8) | static_cast<unsigned char>(b[at + static_cast<std::size_t>(i)]);
  return x;
}
std::uint32_t word32(std::string_view b, std::size_t at) { return static_cast<std::uint32_t>(little(b, at, 4)); }
std::uint16_t word16(std::string_view b, std::size_t at) { return static_cast<std::uint16_t>(little(b, at, 2)); }

struct Layout {
  int code = 0, channels = 0, bits = 0;
  double rate = 0;
};

Problem wrong(const std::string& file, std::string what, std::string found = {}, std::string expected = {}) {
  Problem p = bad(std::move(what), std::move(found), std::move(expected));
  p.where.file = file;
  return p;
}

double sample_at(std::string_view b, std::size_t at, const Layout& l) {
  if (l.code == 3)
    return l.bits == 32 ? static_cast<double>(std::bit_cast<float>(word32(b, at)))
                        : std::bit_cast<double>(little(b, at, 8));
  if (l.bits == 8) return (static_cast<double>(little(b, at, 1)) - 128) / 128;
  const int bytes = l.bits / 8;
  auto x = static_cast<std::int64_t>(little(b, at, bytes));
  const std::int64_t full = std::int64_t{1} << (l.bits - 1);
  if (x >= full) x -= 2 * full;
  return static_cast<double>(x) / static_cast<double>(full);
}

}  // namespace

Outcome<Recording> read_wav(std::string_view b, const std::string& file) {
  if (b.size() < 12 || b.substr(0, 4) != "RIFF" || b.substr(8, 4) != "WAVE")
    return wrong(file, "this is not a WAV file", {}, "a recording saved as .wav");
  Layout l;
  bool described = false, there = false;
  std::string_view sound;
  for (std::size_t at = 12; at + 8 <= b.size();) {
    const std::string_view name = b.substr(at, 4);
    const std::size_t size = word32(b, at + 4), body = at + 8;
    const bool whole = size <= b.size() - body;
    if (name == "fmt ") {
      if (!whole || size < 16) return wrong(file, "the WAV file is damaged: its description is cut off");
      l.code = word16(b, body), l.channels = word16(b, body + 2), l.rate = word32(b, body + 4),
      l.bits = word16(b, body + 14);
      if (l.code == 0xFFFE && size >= 26) l.code = word16(b, body + 24);
      described = true;
    } else if (name == "data" && !there) {
      if (!whole) return wrong(file, "the WAV file is cut off: it promises more sound than there is");
      sound = b.substr(body, size);
      there = true;
    }
    if (!whole) break;
    at = body + size + (size & 1U);
  }
  if (!described) return wrong(file, "the WAV file is damaged: it does not say how its sound is stored");
  const bool whole_numbers = l.code == 1 && (l.bits == 8 || l.bits == 16 || l.bits == 24 || l.bits == 32);
  const bool floating = l.code == 3 && (l.bits == 32 || l.bits == 64);
  if (!whole_numbers && !floating)
    return wrong(file, "the sound is stored in a form that is not read", fmt::format("form {}, {} bit", l.code, l.bits),
                 "plain samples: 8, 16, 24 or 32 bit, or floating point");
  if (l.channels < 1 || l.channels > 16)
    return wrong(file, "number of channels out of range", std::to_string(l.channels), "1 to 16");
  if (!(l.rate >= 1000 && l.rate <= 400000))
    return wrong(file, "samples per second out of range", fmt::format("{:.0f}", l.rate), "1000 to 400000");
  const auto bytes = static_cast<std::size_t>(l.bits / 8), frame = bytes * static_cast<std::size_t>(l.channels);
  if (sound.size() < frame) return wrong(file, "there is no sound in the WAV file");
  Recording r;
  r.rate = l.rate, r.channels = l.channels, r.bits = l.bits;
  r.samples.resize(sound.size() / frame);
  std::size_t loud = 0;
  for (std::size_t i = 0; i < r.samples.size(); ++i) {
    double sum = 0;
    bool full = false;
    for (int c = 0; c < l.channels; ++c) {
      const double x = sample_at(sound, i * frame + static_cast<std::size_t>(c) * bytes, l);
      if (!(std::fabs(x) < 1e6)) return wrong(file, "the WAV file holds samples that are no sound");
      full = full || std::fabs(x) >= 0.999;
      sum += x;
    }
    r.samples[i] = sum / l.channels;
    loud += full ? 1 : 0;
  }
  r.clipped = static_cast<double>(loud) / static_cast<double>(r.samples.size());
  return r;
}

std::string write_wav(const std::vector<double>& samples, int rate) {
  std::string out;
  const auto put = [&](std::uint64_t x, int bytes) {
    for (int i = 0; i < bytes; ++i) out += static_cast<char>((x >> (8 * i)) & 0xFF);
  };
  const std::uint64_t size = samples.size() * 2;
  out += "RIFF";
  put(36 + size, 4);
  out += "WAVEfmt ";
  put(16, 4), put(1, 2), put(1, 2), put(static_cast<std::uint64_t>(rate), 4),
      put(static_cast<std::uint64_t>(rate) * 2, 4);
  put(2, 2), put(16, 2);
  out += "data";
  put(size, 4);
  for (double x : samples) {
    const double v = std::isfinite(x) ? std::clamp(std::round(x * 32768), -32768.0, 32767.0) : 0.0;
    put(static_cast<std::uint16_t>(static_cast<std::int16_t>(v)), 2);
  }
  return out;
}

}  // namespace fettle::chatter
