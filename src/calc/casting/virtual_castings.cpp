#include "calc/casting/virtual_castings.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <thread>

#include "base/text.h"
#include "calc/casting/best_pose.h"
#include "maths/random.h"
#include "maths/statistics.h"

namespace fettle::casting {
namespace {

using std::size_t;
constexpr size_t lanes =
    32;  // castings worked side by side: each lane is its own sum, so the bytes do not depend on it

/// Dimension 0.. of the stream are the parameters, then the roughness of the sample points.
void parameters_from(const Model& m, std::uint64_t seed, std::uint64_t number, const double* z,
                     std::vector<double>& out) {
  const size_t k = m.parameters.size(), modes = static_cast<size_t>(m.mode_count);
  for (size_t j = 0; j < k; ++j) {
    const Parameter& p = m.parameters[j];
    if (p.family == Mode::Family::uniform) {
      out[j] = p.low + (p.high - p.low) * maths::uniform(seed, number, static_cast<std::uint32_t>(j));
    } else if (p.family == Mode::Family::half_normal) {
      out[j] = p.mean + p.s * std::fabs(z[j]);
    } else if (j < modes && !m.factor.empty()) {
      double sum = p.mean;
      for (size_t i = 0; i < modes; ++i) sum += m.factor[j * modes + i] * z[i];
      out[j] = sum;
    } else {
      out[j] = p.mean + p.s * z[j];
    }
  }
}

void draw_parameters(const Model& m, std::uint64_t seed, std::uint64_t number, std::vector<double>& z,
                     std::vector<double>& out) {
  maths::normals(seed, number, 0, z.size(), z.data());
  parameters_from(m, seed, number, z.data(), out);
}

/// Only points on cast skin are rough: numbers are drawn for them, run by run, each by its own dimension.
void draw_rough(size_t parameters, const std::vector<int>& raw_point, std::uint64_t seed, std::uint64_t number,
                double* out) {
  const size_t n = raw_point.size();
  for (size_t i = 0; i < n;) {
    size_t end = i;
    while (end < n && (raw_point[end] != 0) == (raw_point[i] != 0)) ++end;
    if (raw_point[i] != 0) {
      maths::normals(seed, number, static_cast<std::uint32_t>(parameters + i), end - i, out);
      out += end - i;
    }
    i = end;
  }
}
/// Roughness of every point from the numbers of those on skin, in their order.
void texture_from(const Model& m, const double* rough, double* out, size_t points) {
  for (size_t i = 0; i < points; ++i) out[i] = m.raw_point[i] != 0 ? m.texture_s * *rough++ : 0;
}
void draw_texture(const Model& m, std::uint64_t seed, std::uint64_t number, double* out, size_t points) {
  std::vector<double> rough(points);
  draw_rough(m.parameters.size(), m.raw_point, seed, number, rough.data());
  texture_from(m, rough.data(), out, points);
}

/// Two numbers that are worked together: the compiler keeps arrays of plain ones in memory.
using Two = double __attribute__((vector_size(16)));
Two two(const double* at) {
  Two out;
  std::memcpy(&out, at, sizeof out);
  return out;
}

/// What moves a point, parameter by parameter: only those that do.
struct Rows {
  std::vector<size_t> first;  ///< place in the others where a point begins, and the end
  std::vector<size_t> at;     ///< parameter
  std::vector<double> by;     ///< m of stock per unit of it
};
Rows rows_of(const Model& m) {
  Rows out;
  const size_t k = m.parameters.size();
  out.first.push_back(0);
  for (size_t i = 0; i < static_cast<size_t>(m.point_count); ++i) {
    for (size_t j = 0; j < k; ++j) {
      if (m.by_parameter[i * k + j] == 0) continue;
      out.at.push_back(j), out.by.push_back(m.by_parameter[i * k + j]);
    }
    out.first.push_back(out.at.size());
  }
  return out;
}

/// Least and most stock, face by face, of castings first .. first + count - 1 (count <= lanes).
struct Worker {
  const Model& model;
  const Rows& rows;
  std::uint64_t seed;
  const Noise* noise;
  std::vector<double> z, one;
  std::vector<double> texture;       // of `wide` castings, one after the other
  std::vector<double> parameters;    // parameter x lane
  std::vector<double> rough;         // point x lane
  static constexpr size_t wide = 8;  // castings at a time: their sums stay in registers, their roughness in one line

  Worker(const Model& m, const Rows& r, std::uint64_t s, const Noise* n)
      : model(m),
        rows(r),
        seed(s),
        noise(n),
        z(m.parameters.size()),
        one(m.parameters.size()),
        texture(m.texture_s > 0 ? wide * static_cast<size_t>(m.point_count) : 0),
        parameters(m.parameters.size() * lanes),
        rough(texture.size() / wide * lanes) {}

  void run(size_t first, size_t count, std::vector<std::vector<double>>& least,
           std::vector<std::vector<double>>& most) {
    draw(first, count);
    for (size_t f = 0; f + 1 < model.first_point.size(); ++f) {
      double low[lanes], high[lanes];
      std::fill(low, low + lanes, HUGE_VAL);
      std::fill(high, high + lanes, -HUGE_VAL);
      for (auto i = static_cast<size_t>(model.first_point[f]); i < static_cast<size_t>(model.first_point[f + 1]); ++i)
        for (size_t b = 0; b < count; b += wide) stock(i, b, low + b, high + b);
      for (size_t b = 0; b < count; ++b) {
        least[f][first + b] = low[b];
        most[f][first + b] = high[b];
      }
    }
  }

 private:
  void draw(size_t first, size_t count) {
    const size_t points = texture.size() / wide;
    for (size_t from = 0; from < count; from += wide) {
      const size_t some = std::min(wide, count - from);
      for (size_t b = 0; b < some; ++b) {
        const size_t number = first + from + b;
        if (noise != nullptr) parameters_from(model, seed, number, &noise->z[number * one.size()], one);
        else draw_parameters(model, seed, number, z, one);
        for (size_t j = 0; j < one.size(); ++j) parameters[j * lanes + from + b] = one[j];
        if (points == 0) continue;
        double* const to = &texture[b * points];
        if (noise != nullptr) texture_from(model, noise->rough.data() + number * noise->rough_points, to, points);
        else draw_texture(model, seed, number, to, points);
      }
      for (size_t i = 0; i < points; ++i)
        for (size_t b = 0; b < wide; ++b) rough[i * lanes + from + b] = texture[b * points + i];
    }
  }
  /// Stock at a point of castings b .. b + wide - 1: what is least and most of a face so far.
  void stock(size_t i, size_t b, double* low, double* high) const {
    Two sum[wide / 2];
    for (Two& s : sum) s = Two{model.nominal[i], model.nominal[i]};
    for (size_t e = rows.first[i]; e < rows.first[i + 1]; ++e) {
      const Two a{rows.by[e], rows.by[e]};
      const double* const x = &parameters[rows.at[e] * lanes + b];
      sum[0] += a * two(x), sum[1] += a * two(x + 2), sum[2] += a * two(x + 4), sum[3] += a * two(x + 6);
    }
    if (!texture.empty())
      for (size_t q = 0; q < wide / 2; ++q) sum[q] += two(&rough[i * lanes + b + 2 * q]);
    double all[wide];
    std::memcpy(all, sum, sizeof all);
    for (size_t q = 0; q < wide; ++q) {
      low[q] = all[q] < low[q] ? all[q] : low[q];
      high[q] = all[q] > high[q] ? all[q] : high[q];
    }
  }
};

Share share_of(long long hits, long long of, double confidence) {
  const maths::Interval i = maths::clopper_pearson(hits, of, confidence);
  return {hits, of, static_cast<double>(hits) / static_cast<double>(of), i.low, i.high};
}

/// Work on blocks of lanes, shared out by block number; the writes go to places of their own.
template <class Do>
void in_threads(size_t castings, int threads, const Do& work) {
  const size_t blocks = (castings + lanes - 1) / lanes;
  const auto n = static_cast<size_t>(threads);
  std::vector<std::thread> pool;
  for (size_t t = 1; t < n; ++t) pool.emplace_back([&, t] { work(t, n, blocks); });
  work(0, n, blocks);
  for (std::thread& t : pool) t.join();
}

/// Puts least and most, and what these quantiles ask for, where a sort would put them: the rest may lie anyhow.
void in_place(std::vector<double>& values, const std::vector<double>& quantiles) {
  std::vector<size_t> places{0, values.size() - 1};
  for (const double q : quantiles) {
    const auto i = static_cast<size_t>(q * static_cast<double>(values.size() - 1));
    places.push_back(std::min(i, values.size() - 1)), places.push_back(std::min(i + 1, values.size() - 1));
  }
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
  size_t from = 0;
  for (const size_t p : places) {
    const auto at = [&](size_t k) { return values.begin() + static_cast<std::ptrdiff_t>(k); };
    std::nth_element(at(from), at(p), values.end());
    from = p + 1;
  }
}

Problems check(const VirtualInputs& in) {
  Problems out;
  if (in.castings < 1 || in.castings > 100000000)
    out.push_back(bad("the number of virtual castings must be 1 to 100 million", std::to_string(in.castings)));
  if (!(in.confidence > 0 && in.confidence < 1))
    out.push_back(bad("a confidence lies between 0 and 1", base::shortest(in.confidence)));
  if (in.threads < 1 || in.threads > 1024)
    out.push_back(bad("the number of threads must be 1 to 1024", std::to_string(in.threads)));
  for (double q : in.quantiles)
    if (!(q >= 0 && q <= 1)) out.push_back(bad("a quantile lies between 0 and 1", base::shortest(q)));
  return out;
}

}  // namespace

OneCasting one_casting(const Model& m, std::uint64_t seed, int number) {
  OneCasting out;
  const size_t k = m.parameters.size();
  std::vector<double> z(k);
  out.parameters.resize(k);
  draw_parameters(m, seed, static_cast<std::uint64_t>(number), z, out.parameters);
  out.stock = m.nominal;
  std::vector<double> texture(m.texture_s > 0 ? out.stock.size() : 0);
  if (!texture.empty()) draw_texture(m, seed, static_cast<std::uint64_t>(number), texture.data(), texture.size());
  for (size_t i = 0; i < out.stock.size(); ++i) {
    // The same order of sums as in virtual_castings(), so that the bytes agree.
    for (size_t j = 0; j < k; ++j)
      if (m.by_parameter[i * k + j] != 0) out.stock[i] += m.by_parameter[i * k + j] * out.parameters[j];
    if (!texture.empty()) out.stock[i] += texture[i];
  }
  out.faces = by_face(m, out.stock);
  for (size_t o = 0; o < m.operation_ids.size(); ++o) {
    std::array<double, 6> pose{};
    for (size_t a = 0; a < 6; ++a)
      for (size_t j = 0; j < k; ++j) pose[a] += m.pose_by_parameter[(6 * o + a) * k + j] * out.parameters[j];
    out.poses.push_back(pose);
  }
  return out;
}

Noise draw_noise(const Model& m, const VirtualInputs& in, base::Halt* halt) {
  Noise out;
  const size_t k = m.parameters.size();
  const auto rough =
      static_cast<size_t>(std::count_if(m.raw_point.begin(), m.raw_point.end(), [](int r) { return r != 0; }));
  constexpr double most = 512e6;  // bytes; what needs more is drawn anew each time
  if (!check(in).empty() || !(8.0 * in.castings * static_cast<double>(k + rough) <= most)) return out;
  const auto n = static_cast<size_t>(in.castings);
  out.castings = in.castings, out.seed = in.seed, out.parameters = k, out.rough_points = rough;
  out.raw_point = m.raw_point;
  out.z.resize(n * k), out.rough.resize(n * rough);
  in_threads(n, in.threads, [&](size_t t, size_t step, size_t blocks) {
    for (size_t b = t; b < blocks && !base::asked(halt); b += step)
      for (size_t i = b * lanes; i < std::min(n, (b + 1) * lanes); ++i) {
        maths::normals(in.seed, i, 0, k, out.z.data() + i * k);
        draw_rough(k, m.raw_point, in.seed, i, out.rough.data() + i * rough);
      }
  });
  if (halt != nullptr && halt->over()) return {};
  return out;
}

bool Noise::of(const Model& m, const VirtualInputs& in) const {
  return castings > 0 && castings == in.castings && seed == in.seed && parameters == m.parameters.size() &&
         raw_point == m.raw_point;
}

Outcome<VirtualResult> virtual_castings(const Model& m, const VirtualInputs& in, const Noise* noise, base::Halt* halt) {
  const Problems problems = check(in);
  if (!problems.empty()) return problems;
  if (noise != nullptr && !noise->of(m, in)) noise = nullptr;
  const auto n = static_cast<size_t>(in.castings);
  const size_t faces = m.faces.size();
  std::vector<std::vector<double>> least(faces, std::vector<double>(n)), most = least;
  const Rows rows = rows_of(m);
  in_threads(n, in.threads, [&](size_t t, size_t step, size_t blocks) {
    Worker w(m, rows, in.seed, noise);
    for (size_t b = t; b < blocks && !base::asked(halt); b += step)
      w.run(b * lanes, std::min(lanes, n - b * lanes), least, most);
  });
  if (halt != nullptr && halt->over()) return bad("stopped");

  VirtualResult out;
  std::vector<char> fails(n, 0);
  double worst = HUGE_VAL;
  for (size_t f = 0; f < faces; ++f) {
    FaceClean face;
    face.face = m.faces[f].id;
    long long hits = 0;
    size_t low = 0;
    for (size_t i = 0; i < n; ++i) {
      const double reserve = least[f][i] - m.faces[f].must_leave;
      if (!(reserve >= 0)) {
        ++hits;
        fails[i] = 1;
      }
      if (least[f][i] < least[f][low]) low = i;
      if (reserve / m.faces[f].weight < worst) {
        worst = reserve / m.faces[f].weight;
        out.worst_reserve = reserve;
        out.worst_casting = static_cast<int>(i);
        out.worst_face = static_cast<int>(f);
      }
    }
    face.fails = share_of(hits, in.castings, in.confidence);
    face.worst_casting = static_cast<int>(low);
    const FaceStock again = one_casting(m, in.seed, face.worst_casting).faces[f];
    face.worst_point = again.least_point;
    face.worst_at = again.least_at;
    in_place(least[f], in.quantiles);
    in_place(most[f], in.quantiles);
    face.least_of_all = least[f].front();
    face.most_of_all = most[f].back();
    for (double q : in.quantiles) {
      face.least.push_back(maths::quantile_of_sorted(least[f], q));
      face.most.push_back(maths::quantile_of_sorted(most[f], q));
    }
    out.faces.push_back(std::move(face));
  }
  out.any_fails = share_of(std::count(fails.begin(), fails.end(), 1), in.castings, in.confidence);
  if (in.with_shift) {
    in_threads(n, in.threads, [&](size_t t, size_t step, size_t blocks) {
      for (size_t b = t; b < blocks && !base::asked(halt); b += step)
        for (size_t i = b * lanes; i < std::min(n, (b + 1) * lanes); ++i) {
          if (fails[i] == 0) continue;
          const BestShift s = best_shift(m, one_casting(m, in.seed, static_cast<int>(i)).stock);
          if (s.status == PoseStatus::found && s.least >= 0) fails[i] = 2;
        }
    });
    if (halt != nullptr && halt->over()) return bad("stopped");
    out.any_fails_with_shift = share_of(std::count(fails.begin(), fails.end(), 1), in.castings, in.confidence);
  }
  return out;
}

}  // namespace fettle::casting
