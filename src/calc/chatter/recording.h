#pragma once
// What a recording says: of a tap (how something rings down) and of a cut that squeals.
#include <string>
#include <vector>

namespace fettle::chatter {

/// One way of ringing heard in a tap.
struct Ring {
  double frequency = 0, frequency_spread = 0;  ///< Hz, damped; one standard deviation
  double damping = 0, damping_spread = 0;      ///< ratio; one standard deviation
  double share = 0;                            ///< of the energy of what was fitted
  int taps = 0;                                ///< in which it was heard
};
struct TapInputs {
  double rate = 0;  ///< samples per second
  std::vector<double> samples;
  double lowest = 30, highest = 5000;  ///< Hz, looked for
  int most = 4;                        ///< rings per tap
};
struct TapResult {
  bool ok = false;
  std::string why;          ///< when not ok, what to do
  int taps = 0;             ///< found
  std::vector<Ring> rings;  ///< strongest first
  double left = 0;          ///< share of the energy that the fit does not explain, mean over the taps
};
/// Finds the taps, and fits each ring-down with a sum of damped sines: least squares in frequency and decay with the
/// amplitudes projected out (Golub and Pereyra 1973, Kaufman's form). Spread: of the fit, or between taps where that is
/// larger. Not ok: nothing stands out of the noise, or nothing that decays.
TapResult tap(const TapInputs& in);

/// One peak of the sound of a cut.
struct Tone {
  double frequency = 0;  ///< Hz
  double level = 0;      ///< amplitude over that of the strongest
  bool turning = false;  ///< a multiple of the spindle's turns
  bool teeth = false;    ///< a multiple of the tooth passing frequency
};
struct SquealInputs {
  double rate = 0;
  std::vector<double> samples;
  double turns = 0;        ///< of the spindle, per second
  int teeth = 0;           ///< equally spaced or not
  double top_turns = 0;    ///< of the machine, per second; 0: not known
  double least_turns = 0;  ///< not slower than this; 0: a third of the present speed
  double lowest = 60, highest = 8000;
};
struct SquealResult {
  bool ok = false;
  std::string why;
  bool chatter = false;       ///< a tone that no tooth beats
  double frequency = 0;       ///< Hz, of the chatter
  double resolution = 0;      ///< Hz
  std::vector<Tone> tones;    ///< strongest first
  std::vector<double> tries;  ///< spindle turns per second, f/(teeth j), nearest to the present speed first
};
/// Averaged spectrum (Hann windows half over one another), its peaks, and which of them the spindle makes: within the
/// resolution or 0.2 % of a multiple of the turns. The strongest of the others is chatter when it is at least a tenth
/// of the strongest of all. Speeds to try: the tooth passes at f, f/2, f/3, ... (f/(N j)), where the waves of one tooth
/// and the next run in step.
SquealResult squeal(const SquealInputs& in);

}  // namespace fettle::chatter
