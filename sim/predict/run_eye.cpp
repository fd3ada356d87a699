#include "predict/run_eye.h"

#include "base/check.h"
#include "base/parallel.h"
#include "predict/run_mixer.h"
#include "verdict/edge_pairs.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace kirtle {

namespace {

enum Kind : std::uint8_t { kFlat, kTone, kContours };

constexpr double kPicturePpi = 100;

int side_at(double ppi) { return std::max(1, static_cast<int>(std::lround(ppi / kPicturePpi))); }

std::array<double, 4> inverse(const std::array<double, 4>& m) {
  const double det = m[0] * m[3] - m[1] * m[2];
  return {m[3] / det, -m[1] / det, -m[2] / det, m[0] / det};
}

/// The scene with every pass where it is meant to be.
Scene without_offsets(Scene scene) {
  for (ScenePass& pass : scene.passes) pass.offset = {};
  return scene;
}

}  // namespace

/// Scratch of one thread.
struct RunEye::Worker {
  Worker(const OverprintTable& table, const std::vector<int>& groups) : mixer(table, groups) {}
  RunMixer mixer;
  std::vector<TilePlate> plates;
  std::array<std::array<float, kEyeTile * kEyeTile>, 3> sum;
};

/// Affine, in plate pixels, shared shift taken out.
struct RunEye::Shift {
  double dx = 0, dy = 0, xx = 0, xy = 0, yx = 0, yy = 0;
  TileSource source(int x, int y) const {
    // First order: what a point moved by is read where it arrives.
    return {x - dx - xx * x - xy * y, y - dy - yx * x - yy * y, -xx, -xy, -yx, -yy};
  }
};

RunEye::~RunEye() = default;

RunEye::RunEye(const Scene& scene, const Prediction& prediction, Mm farthest, const EyeSettings& settings)
    : scene_(scene), prediction_(prediction), settings_(settings), farthest_mm_(farthest.v) {
  KIRTLE_CHECK(farthest.v, >=, 0.0);
  KIRTLE_CHECK(settings.least_mm2, >=, 0.0);
  if (settings_.threads == 0) settings_.threads = default_threads();
  side_ = side_at(prediction.ppi());
  ppi_ = prediction.ppi() / side_;
  px_per_mm_ = prediction.ppi() / kMmPerInch;
  // Placement is weighed with plates moved by a tenth of a millimetre.
  const int reach = static_cast<int>(std::ceil(std::max(farthest.v, 0.1) * px_per_mm_)) + 2;
  plates_ = std::make_unique<RunPlates>(prediction, reach + 2, settings_.threads);
  width_ = (plates_->width + side_ - 1) / side_;
  height_ = (plates_->height + side_ - 1) / side_;
  across_ = (width_ + kEyeTile - 1) / kEyeTile;
  down_ = (height_ + kEyeTile - 1) / kEyeTile;
  // Where the scene knows of a register error its own table has tints of one screen overlap as that error
  // says.
  in_register_ = std::make_unique<PrintModel>(without_offsets(scene));
  const OverprintTable& table = in_register_->table;
  for (int i = 0; i < table.plates(); ++i) group_.push_back(table.screen_group(i));
  find_tiles(reach);
  for (unsigned t = 0; t < settings_.threads; ++t) workers_.emplace_back(table, group_);
  const std::size_t n = row_major(0, height_, width_);
  for (std::size_t c = 0; c < 3; ++c) {
    register_[c].assign(n, 0.0F);
    change_[c].assign(n, 0.0F);
  }
  // The whole print in register, as a change from nothing.
  const std::vector<std::uint8_t> works = std::exchange(works_, std::vector<std::uint8_t>(works_.size(), 1));
  move(std::vector<RegisterOffset>(group_.size()), {});
  std::swap(register_, change_);
  works_ = works;
  eye_ = std::make_unique<EyeDifference>(SpatialLab(ppi_, settings.distance, table.weights().white),
                                         register_, width_, height_, settings.threshold, settings_.threads);
  weigh_placement();
}

void RunEye::find_tiles(int reach) {
  const std::size_t tiles = row_major(0, down_, across_);
  works_.assign(tiles, 0);
  kind_.assign(plates_->plates.size(), std::vector<std::uint8_t>(tiles, kFlat));
  parallel_for(static_cast<std::size_t>(down_), settings_.threads, [&](std::size_t row, unsigned) {
    const int ty = static_cast<int>(row), step = kEyeTile * side_;
    for (int tx = 0; tx < across_; ++tx) {
      const std::size_t t = row_major(tx, ty, across_);
      const int x0 = tx * step - reach, x1 = std::min(plates_->width, (tx + 1) * step) + reach;
      const int y0 = ty * step - reach, y1 = std::min(plates_->height, (ty + 1) * step) + reach;
      for (std::size_t p = 0; p < plates_->plates.size(); ++p) {
        const RunPlate& plate = plates_->plates[p];
        const std::uint8_t first = plate.cover[plates_->at(x0, y0)];
        std::uint8_t kind = kFlat;
        for (int y = y0; y < y1 && kind != kContours; ++y) {
          const std::size_t from = plates_->at(x0, y), to = from + static_cast<std::size_t>(x1 - x0);
          for (std::size_t i = from; i < to; ++i) {
            if (plate.cover[i] != first) kind = std::max<std::uint8_t>(kind, kTone);
            if (plate.edge.empty() || plate.edge[i] == kEdgeTint || std::abs(plate.edge[i]) == kEdgeFar)
              continue;
            kind = kContours;
            break;
          }
        }
        kind_[p][t] = kind;
        if (kind != kFlat) works_[t] = 1;
      }
      // Flat tints of one screen change with the register all the same.
      int tints = 0;
      const std::size_t middle = plates_->at(std::min(tx * step + step / 2, plates_->width - 1),
                                             std::min(ty * step + step / 2, plates_->height - 1));
      for (std::size_t p = 0; p < plates_->plates.size(); ++p) {
        const std::uint8_t cover = plates_->plates[p].cover[middle];
        if (group_[p] >= 0 && cover > 0 && cover < 255) ++tints;
      }
      if (tints > 1) works_[t] = 1;
    }
  });
}

double RunEye::share_worked_out() const {
  return static_cast<double>(std::count(works_.begin(), works_.end(), std::uint8_t{1})) /
         static_cast<double>(works_.size());
}

void RunEye::tile(int tx, int ty, std::span<const Shift> shifts, Worker& worker) const {
  const int step = kEyeTile * side_, x0 = tx * step, y0 = ty * step;
  const int w = std::min(step, plates_->width - x0), h = std::min(step, plates_->height - y0);
  const std::size_t t = row_major(tx, ty, across_);
  worker.plates.resize(shifts.size());
  for (std::size_t p = 0; p < shifts.size(); ++p) {
    TilePlate& out = worker.plates[p];
    const auto kind = static_cast<Kind>(kind_[p][t]);
    const RunPlate& plate = plates_->plates[p];
    out.flat = kind == kFlat;
    out.contours = kind == kContours;
    if (out.flat) {
      out.value = plate.cover[plates_->at(x0, y0)];
    } else {
      move_plate(*plates_, plate, shifts[p].source(x0, y0), w, h, out);
    }
  }
  for (auto& sum : worker.sum) sum.fill(0);
  worker.mixer.mix_tile(worker.plates, w, h, side_, worker.sum);
}

void RunEye::move(std::span<const RegisterOffset> offsets, Placement shared) {
  const double width_mm = plates_->width / px_per_mm_, height_mm = plates_->height / px_per_mm_;
  // Tints of one screen: the overlap of this shirt.
  std::unique_ptr<PrintModel> joint;
  bool apart = false;
  for (std::size_t p = 0; p < group_.size(); ++p) {
    if (group_[p] < 0) continue;
    const RegisterOffset& first = offsets[static_cast<std::size_t>(group_[p])];
    apart = apart || offsets[p].dx.v != first.dx.v || offsets[p].dy.v != first.dy.v;
  }
  if (apart) {
    Scene moved = scene_;
    for (ScenePass& pass : moved.passes) {
      for (std::size_t p = 0; p < group_.size(); ++p) {
        if (prediction_.model().plates[p].scene_plate == pass.plate) pass.offset = offsets[p];
      }
    }
    joint = std::make_unique<PrintModel>(moved);
  }
  std::vector<Shift> shifts;
  for (const RegisterOffset& o : offsets) {
    const Moved origin = moved_by(o, 0, 0, width_mm, height_mm),
                right = moved_by(o, 1, 0, width_mm, height_mm), down = moved_by(o, 0, 1, width_mm, height_mm);
    shifts.push_back({(origin.dx_mm - shared.dx.v) * px_per_mm_, (origin.dy_mm - shared.dy.v) * px_per_mm_,
                      right.dx_mm - origin.dx_mm, down.dx_mm - origin.dx_mm, right.dy_mm - origin.dy_mm,
                      down.dy_mm - origin.dy_mm});
  }
  for (Worker& w : workers_) w.mixer.begin_shirt(joint ? &joint->table : nullptr);
  parallel_for(static_cast<std::size_t>(down_), settings_.threads, [&](std::size_t row, unsigned number) {
    Worker& worker = workers_[number];
    const int ty = static_cast<int>(row);
    for (int tx = 0; tx < across_; ++tx) {
      if (!works_[row_major(tx, ty, across_)]) continue;
      tile(tx, ty, shifts, worker);
      const int px0 = tx * kEyeTile, px1 = std::min(width_, px0 + kEyeTile);
      const int py0 = ty * kEyeTile, py1 = std::min(height_, py0 + kEyeTile);
      for (std::size_t c = 0; c < 3; ++c) {
        for (int y = py0; y < py1; ++y) {
          for (int x = px0; x < px1; ++x) {
            const std::size_t i = row_major(x, y, width_);
            change_[c][i] = worker.sum[c][row_major(x - px0, y - py0, kEyeTile)] - register_[c][i];
          }
        }
      }
    }
  });
}

void RunEye::weigh_placement() {
  constexpr double kBy = 0.05;  // mm to either side
  // So many tiles stand for the print.
  const int one_in = works_.size() > 4000 ? 8 : 1;
  const std::vector<std::uint8_t> works = works_;
  for (int ty = 0; ty < down_; ++ty) {
    for (int tx = 0; tx < across_; ++tx) {
      if ((tx + 3 * ty) % one_in != 0) works_[row_major(tx, ty, across_)] = 0;
    }
  }
  const std::size_t n = group_.size();
  const auto changed = [&](std::size_t plate, bool all, int axis) {
    OpponentPlanes difference;
    for (const double by : {kBy, -kBy}) {
      std::vector<RegisterOffset> offsets(n);
      for (std::size_t p = 0; p < n; ++p) {
        if (all || p == plate) (axis == 0 ? offsets[p].dx : offsets[p].dy) = {by};
      }
      move(offsets, {});
      for (std::size_t c = 0; c < 3; ++c) {
        if (by > 0) {
          difference[c] = change_[c];
        } else {
          for (std::size_t i = 0; i < difference[c].size(); ++i) difference[c][i] -= change_[c][i];
        }
      }
    }
    return difference;
  };
  const auto product = [&](const OpponentPlanes& a, const OpponentPlanes& b) {
    double sum = 0;
    for (std::size_t c = 0; c < 3; ++c) {
      for (std::size_t i = 0; i < a[c].size(); ++i)
        sum += static_cast<double>(a[c][i]) * static_cast<double>(b[c][i]);
    }
    return sum;
  };
  const std::array<OpponentPlanes, 2> all{changed(0, true, 0), changed(0, true, 1)};
  std::array<double, 4> gram{product(all[0], all[0]), product(all[0], all[1]), 0, product(all[1], all[1])};
  gram[2] = gram[1];
  const double least = 1e-9 * (gram[0] + gram[3]);
  weight_.assign(n, {1.0 / static_cast<double>(n), 0, 0, 1.0 / static_cast<double>(n)});
  const bool changes = gram[0] * gram[3] - gram[1] * gram[2] > least * least;
  const std::array<double, 4> solved = changes ? inverse(gram) : gram;
  for (std::size_t p = 0; changes && p < n; ++p) {
    const OpponentPlanes x = changed(p, false, 0), y = changed(p, false, 1);
    const std::array<double, 4> m{product(all[0], x), product(all[0], y), product(all[1], x),
                                  product(all[1], y)};
    weight_[p] = {solved[0] * m[0] + solved[1] * m[2], solved[0] * m[1] + solved[1] * m[3],
                  solved[2] * m[0] + solved[3] * m[2], solved[2] * m[1] + solved[3] * m[3]};
  }
  works_ = works;
}

Placement RunEye::placement(std::span<const RegisterOffset> offsets) const {
  KIRTLE_CHECK(offsets.size(), ==, group_.size());
  Placement shared;
  double low_x = 1e30, high_x = -1e30, low_y = 1e30, high_y = -1e30;
  for (std::size_t p = 0; p < offsets.size(); ++p) {
    const double dx = offsets[p].dx.v, dy = offsets[p].dy.v;
    shared.dx.v += weight_[p][0] * dx + weight_[p][1] * dy;
    shared.dy.v += weight_[p][2] * dx + weight_[p][3] * dy;
    low_x = std::min(low_x, dx);
    high_x = std::max(high_x, dx);
    low_y = std::min(low_y, dy);
    high_y = std::max(high_y, dy);
  }
  return {{std::clamp(shared.dx.v, low_x, high_x)}, {std::clamp(shared.dy.v, low_y, high_y)}};
}

SeenOnShirt RunEye::shirt(std::span<const RegisterOffset> offsets) {
  const double width_mm = plates_->width / px_per_mm_, height_mm = plates_->height / px_per_mm_;
  KIRTLE_CHECK(farthest_apart(offsets, width_mm, height_mm), <=, farthest_mm_ * (1 + 1e-9) + 1e-9);
  move(offsets, placement(offsets));
  const EyeFigures f = eye_->figures(change_, works_, settings_.threads);
  const double mm = kMmPerInch / ppi_;
  return {f.largest,        f.p999,           f.area_over_mm2,
          (f.x + 0.5) * mm, (f.y + 0.5) * mm, f.area_over_mm2 > 0 && f.area_over_mm2 >= settings_.least_mm2};
}

double farthest_apart(std::span<const RegisterOffset> offsets, double width_mm, double height_mm) {
  double farthest = 0;
  for (const RegisterOffset& plate : offsets) {
    for (int corner = 0; corner < 4; ++corner) {
      const Moved m =
          moved_by(plate, corner % 2 ? width_mm : 0, corner / 2 ? height_mm : 0, width_mm, height_mm);
      for (const RegisterOffset& other : offsets)
        farthest = std::max(farthest, std::hypot(m.dx_mm - other.dx.v, m.dy_mm - other.dy.v));
    }
  }
  return farthest;
}

PictureView ShirtPicture::view() const { return {xyz, width, height}; }

ShirtPicture shirt_picture(const Prediction& shirt, const EyeSettings& settings) {
  const int side = side_at(shirt.ppi());
  const int width_in = shirt.renderer().width(), height_in = shirt.renderer().height();
  ShirtPicture out{(width_in + side - 1) / side, (height_in + side - 1) / side, {}};
  std::vector<XYZ> sum(row_major(0, out.height, out.width));
  shirt.renderer().render(1, settings.threads, {}, [&](int y0, int rows, std::span<const XYZf> xyz) {
    for (int y = 0; y < rows; ++y) {
      const int v = (y0 + y) / side, tall = std::min(side, height_in - v * side);
      for (int x = 0; x < width_in; ++x) {
        const int u = x / side, wide = std::min(side, width_in - u * side);
        const XYZf& c = xyz[row_major(x, y, width_in)];
        sum[row_major(u, v, out.width)] +=
            XYZ{static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)} *
            (1.0 / (wide * tall));
      }
    }
  });
  out.xyz.reserve(sum.size());
  for (const XYZ& c : sum)
    out.xyz.push_back({static_cast<float>(c.x), static_cast<float>(c.y), static_cast<float>(c.z)});
  return out;
}

SpatialLab eye_of(const Prediction& in_register, const EyeSettings& settings) {
  return SpatialLab(in_register.ppi() / side_at(in_register.ppi()), settings.distance,
                    in_register.model().table.weights().white);
}

SeenDifference seen_whole(const Prediction& in_register, const Prediction& shirt,
                          const EyeSettings& settings) {
  const SpatialLab eye = eye_of(in_register, settings);
  return eye.difference(eye.see(shirt_picture(in_register, settings).view(), settings.threads),
                        eye.see(shirt_picture(shirt, settings).view(), settings.threads), settings.threads);
}

}  // namespace kirtle
