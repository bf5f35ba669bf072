#pragma once
// Many castings drawn from the model: which share cleans up, how much stock they have, and the worst of them by number.
#include <cstdint>
#include <string>
#include <vector>

#include "base/halt.h"
#include "calc/casting/model.h"

namespace fettle::casting {

struct VirtualInputs {
  int castings = 100000;
  std::uint64_t seed = 1;
  double confidence = 0.95;  ///< of the intervals of shares
  int threads = 1;           ///< same bytes for any number
  /// Shares at which the stock is told (0.01: one casting of a hundred has less).
  std::vector<double> quantiles = {0.001, 0.01, 0.05, 0.5, 0.95, 0.99, 0.999};
  /// Also ask, for each casting that fails, whether the best program shift within each operation's limits saves it.
  bool with_shift = false;
};

/// A share with its interval (Clopper and Pearson).
struct Share {
  long long hits = 0, of = 0;
  double share = 0, low = 0, high = 0;
};

struct FaceClean {
  std::string face;
  Share fails;                      ///< least stock under must_leave
  std::vector<double> least, most;  ///< at VirtualInputs::quantiles, m
  double least_of_all = 0, most_of_all = 0;
  int worst_casting = 0;  ///< number to give to one_casting()
  int worst_point = 0;    ///< point of the face where
  Vec3 worst_at;
};

struct VirtualResult {
  std::vector<FaceClean> faces;
  Share any_fails;             ///< castings with at least one face that does not clean up
  Share any_fails_with_shift;  ///< of = 0 when not asked
  int worst_casting = 0;       ///< least reserve over weight of all
  int worst_face = 0;
  double worst_reserve = 0;  ///< m
};

/// The standard normal numbers of so many castings, drawn once for several models that ask for the same of them: they
/// differ in numbers, not in what scatters and which points are rough.
struct Noise {
  int castings = 0;  ///< 0: too many to keep
  std::uint64_t seed = 0;
  std::size_t parameters = 0, rough_points = 0;
  std::vector<int> raw_point;  ///< as the model's
  std::vector<double> z;       ///< castings x parameters
  std::vector<double> rough;   ///< castings x points on cast skin
  /// True when they are the numbers that this model asks for.
  bool of(const Model& model, const VirtualInputs& in) const;
};
Noise draw_noise(const Model& model, const VirtualInputs& in, base::Halt* halt = nullptr);

/// Draws and judges. `noise`: its numbers where they are those that this model asks for; the result is the same
/// without. Problems: fewer than 1 casting, confidence or quantile outside its range, threads below 1.
/// `halt`: asked between blocks of castings; a problem then.
Outcome<VirtualResult> virtual_castings(const Model& model, const VirtualInputs& in, const Noise* noise = nullptr,
                                        base::Halt* halt = nullptr);

/// One casting again: its errors, the stock at every sample point, and the pose in each operation (t, w of 6).
struct OneCasting {
  std::vector<double> parameters;
  std::vector<double> stock;
  std::vector<FaceStock> faces;
  std::vector<std::array<double, 6>> poses;
};
OneCasting one_casting(const Model& model, std::uint64_t seed, int number);

}  // namespace fettle::casting
