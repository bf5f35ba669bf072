#include "calc/chatter/wav.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <cstring>

namespace {

using fettle::chatter::read_wav;
using fettle::chatter::write_wav;

std::string little(std::uint64_t x, int bytes) {
  std::string s;
  for (int i = 0; i < bytes; ++i) s += static_cast<char>((x >> (8 * i)) & 0xFF);
  return s;
}
std::string file(int code, int channels, int bits, unsigned rate, const std::string& sound, bool extensible = false) {
  std::string format = little(extensible ? 0xFFFE : static_cast<unsigned>(code), 2) +
                       little(static_cast<unsigned>(channels), 2) + little(rate, 4) +
                       little(rate * static_cast<unsigned>(channels * bits / 8), 4) +
                       little(static_cast<unsigned>(channels * bits / 8), 2) + little(static_cast<unsigned>(bits), 2);
  if (extensible)
    format += little(22, 2) + little(static_cast<unsigned>(bits), 2) + little(0, 4) +
              little(static_cast<unsigned>(code), 2) + std::string(14, 'x');
  const std::string note = "LIST" + little(3, 4) + "abc" + std::string(1, '\0');
  const std::string body =
      "WAVEfmt " + little(format.size(), 4) + format + note + "data" + little(sound.size(), 4) + sound;
  return "RIFF" + little(body.size(), 4) + body;
}
template <class T>
std::string bytes_of(T x) {
  std::string s(sizeof x, '\0');
  std::memcpy(s.data(), &x, sizeof x);
  return s;
}

TEST(Wav, ReadsEveryPlainForm) {
  const auto one = [](const std::string& f) {
    const auto r = read_wav(f, "a.wav");
    EXPECT_TRUE(r.ok()) << (r.ok() ? "" : fettle::say(r.problem()));
    return r.ok() && !r->samples.empty() ? r->samples[0] : 99.0;
  };
  EXPECT_EQ(one(file(1, 1, 8, 8000, little(192, 1))), 0.5);
  EXPECT_EQ(one(file(1, 1, 8, 8000, little(0, 1))), -1);
  EXPECT_EQ(one(file(1, 1, 16, 48000, little(0xC000, 2))), -0.5);
  EXPECT_EQ(one(file(1, 1, 24, 48000, little(0x400000, 3))), 0.5);
  EXPECT_EQ(one(file(1, 1, 32, 48000, little(0xC0000000, 4))), -0.5);
  EXPECT_EQ(one(file(3, 1, 32, 48000, bytes_of(0.25F))), 0.25);
  EXPECT_EQ(one(file(3, 1, 64, 48000, bytes_of(-0.125))), -0.125);
  EXPECT_EQ(one(file(1, 2, 16, 48000, little(0x4000, 2) + little(0x2000, 2))), 0.375) << "channels are averaged";
  EXPECT_EQ(one(file(1, 1, 16, 48000, little(0x4000, 2), true)), 0.5);
}

TEST(Wav, ComesBack) {
  std::vector<double> x(1000);
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = 0.9 * std::sin(0.05 * static_cast<double>(i));
  x[3] = 2;
  const auto r = read_wav(write_wav(x, 44100), "a.wav");
  ASSERT_TRUE(r.ok());
  EXPECT_EQ(r->rate, 44100);
  ASSERT_EQ(r->samples.size(), x.size());
  for (std::size_t i = 4; i < x.size(); ++i) EXPECT_NEAR(r->samples[i], x[i], 1.0 / 32768);
  EXPECT_NEAR(r->clipped, 0.001, 1e-12);
}

void refused(const std::string& f, const char* word) {
  const auto r = read_wav(f, "a.wav");
  ASSERT_FALSE(r.ok()) << word;
  EXPECT_EQ(r.problems().size(), 1U);
  EXPECT_EQ(r.problem().where.file, "a.wav");
  EXPECT_NE(fettle::say(r.problem()).find(word), std::string::npos) << fettle::say(r.problem());
}

TEST(Wav, RefusesWhatIsWrong) {
  const std::string two = little(0x4000, 2);
  refused("", "not a WAV");
  refused("RIFF....MIDI", "not a WAV");
  refused(file(1, 0, 16, 48000, two), "channels");
  refused(file(1, 17, 16, 48000, std::string(64, 'a')), "channels");
  refused(file(1, 1, 16, 999, two), "samples per second");
  refused(file(1, 1, 16, 400001, two), "samples per second");
  refused(file(1, 1, 12, 48000, two), "form");
  refused(file(85, 1, 16, 48000, two), "form");
  refused(file(3, 1, 16, 48000, two), "form");
  refused(file(1, 1, 16, 48000, ""), "no sound");
  refused(file(3, 1, 32, 48000, bytes_of(NAN)), "no sound");
  refused("RIFF" + little(4, 4) + "WAVE", "does not say");
  std::string cut = file(1, 1, 16, 48000, std::string(100, 'a'));
  cut.resize(cut.size() - 10);
  refused(cut, "cut off");
}

TEST(Wav, SurvivesDamage) {
  const std::string good = write_wav(std::vector<double>(64, 0.5), 48000);
  std::uint64_t s = 12345;
  for (int k = 0; k < 20000; ++k) {
    std::string f = good;
    for (int n = 0; n < 1 + k % 4; ++n) {
      s = s * 6364136223846793005ULL + 1442695040888963407ULL;
      f[(s >> 33) % std::min<std::size_t>(f.size(), 60)] = static_cast<char>(s >> 20);
    }
    if (k % 3 == 0) f.resize((s >> 40) % f.size());
    const auto r = read_wav(f, "a.wav");
    if (r.ok()) EXPECT_LE(r->samples.size(), f.size());
    else EXPECT_EQ(r.problems().size(), 1U);
  }
}

}  // namespace
