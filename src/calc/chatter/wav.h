#pragma once
// Sound files as a phone writes them: RIFF/WAVE with plain samples.
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::chatter {

/// A recording, channels averaged to one.
struct Recording {
  double rate = 0;              ///< samples per second
  std::vector<double> samples;  ///< -1..1 is full scale
  int channels = 0, bits = 0;   ///< as stored
  double clipped = 0;           ///< share of samples at full scale: the recording was too loud
};

/// Reads the bytes of a WAV file: whole numbers of 8, 16, 24 or 32 bit, or floating point of 32 or 64 bit, 1 to 16
/// channels, 1000 to 400000 samples a second. `file` names it in problems. One problem for anything else: not a WAV
/// file, packed sound, cut off, no sound in it, numbers that are not finite.
Outcome<Recording> read_wav(std::string_view bytes, const std::string& file);

/// A 16 bit file of one channel; samples beyond full scale are clipped.
std::string write_wav(const std::vector<double>& samples, int rate);

}  // namespace fettle::chatter
