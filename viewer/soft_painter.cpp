#include "soft_painter.h"

#include "base/parallel.h"
#include "garment.h"
#include "renderer.h"
#include "soft_print.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {

struct SoftPainter::Colours {
  std::shared_ptr<const Build> build;
  std::string light;
  std::unique_ptr<const PrintModel> own;  ///< another light's
  XYZ white;
  std::vector<Mixer> mixers;  ///< one a thread
};

struct SoftPainter::Small {
  std::shared_ptr<const Pyramid> of;
  struct Level {
    int width = 0, height = 0;
    std::vector<XYZf> xyz;
  };
  std::vector<Level> levels;

  XYZf bilinear(const Level& l, float u, float v) const {
    const float x = std::clamp(u * static_cast<float>(l.width) - 0.5F, 0.0F, static_cast<float>(l.width - 1));
    const float y =
        std::clamp(v * static_cast<float>(l.height) - 0.5F, 0.0F, static_cast<float>(l.height - 1));
    const int ix = std::min(static_cast<int>(x), std::max(l.width - 2, 0)),
              iy = std::min(static_cast<int>(y), std::max(l.height - 2, 0));
    const float fx = x - static_cast<float>(ix), fy = y - static_cast<float>(iy);
    const XYZf* a = l.xyz.data() + static_cast<std::size_t>(iy) * static_cast<std::size_t>(l.width) + ix;
    const XYZf* b = a + (l.height > 1 ? l.width : 0);
    const int right = l.width > 1 ? 1 : 0;
    const float w[4] = {(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy};
    return {w[0] * a->x + w[1] * a[right].x + w[2] * b->x + w[3] * b[right].x,
            w[0] * a->y + w[1] * a[right].y + w[2] * b->y + w[3] * b[right].y,
            w[0] * a->z + w[1] * a[right].z + w[2] * b->z + w[3] * b[right].z};
  }
  XYZf at(float u, float v, float level) const {
    const auto low = std::min(static_cast<std::size_t>(level), levels.size() - 1),
               high = std::min(low + 1, levels.size() - 1);
    const float t = std::clamp(level - static_cast<float>(low), 0.0F, 1.0F);
    const XYZf a = bilinear(levels[low], u, v), b = bilinear(levels[high], u, v);
    return {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y), a.z + t * (b.z - a.z)};
  }
};

SoftPainter::SoftPainter(unsigned threads) : threads_(threads == 0 ? default_threads() : threads) {}
SoftPainter::~SoftPainter() = default;

SoftPainter::Colours& SoftPainter::colours_of(const std::shared_ptr<const Build>& build,
                                              const std::string& light) {
  const std::string& wanted = light.empty() ? build->scene->light : light;
  for (const auto& c : colours_) {
    if (c->build == build && c->light == wanted) return *c;
  }
  if (colours_.size() >= 4) colours_.erase(colours_.begin());
  auto made = std::make_unique<Colours>();
  made->build = build;
  made->light = wanted;
  const OverprintTable* table = &build->prediction->model().table;
  if (wanted != build->scene->light) {
    Scene scene = *build->scene;
    scene.light = wanted;
    made->own = std::make_unique<const PrintModel>(scene);
    table = &made->own->table;
  }
  made->white = table->weights().white;
  for (unsigned t = 0; t < threads_; ++t) made->mixers.emplace_back(*table);
  colours_.push_back(std::move(made));
  return *colours_.back();
}

const SoftPainter::Small& SoftPainter::small_of(const std::shared_ptr<const Pyramid>& pyramid) {
  if (small_ && small_->of == pyramid) return *small_;
  small_ = std::make_unique<Small>();
  small_->of = pyramid;
  small_->levels.push_back({pyramid->width, pyramid->height, pyramid->xyz});
  while (small_->levels.back().width > 8 && small_->levels.back().height > 8) {
    const Small::Level& from = small_->levels.back();
    Small::Level to{from.width / 2, from.height / 2, {}};
    to.xyz.resize(static_cast<std::size_t>(to.width) * static_cast<std::size_t>(to.height));
    parallel_for(static_cast<std::size_t>(to.height), threads_, [&](std::size_t y, unsigned) {
      for (std::size_t x = 0; x < static_cast<std::size_t>(to.width); ++x) {
        const XYZf* a = from.xyz.data() + 2 * y * static_cast<std::size_t>(from.width) + 2 * x;
        const XYZf* b = a + from.width;
        to.xyz[y * static_cast<std::size_t>(to.width) + x] = {(a[0].x + a[1].x + b[0].x + b[1].x) / 4,
                                                              (a[0].y + a[1].y + b[0].y + b[1].y) / 4,
                                                              (a[0].z + a[1].z + b[0].z + b[1].z) / 4};
      }
    });
    small_->levels.push_back(std::move(to));
  }
  return *small_;
}

namespace {

/// The drawn garment at a place: cover and shade; as in print.frag.
void garment_at(double x_mm, double y_mm, double half_px_mm, float& inside, float& shade) {
  const GarmentDrawing& g = garment_drawing();
  inside = 0;
  shade = 1;
  const double x = (x_mm - g.left_mm) / g.width_mm * g.columns - 0.5,
               y = (y_mm - g.top_mm) / g.height_mm * g.rows - 0.5;
  if (!(x >= 0 && y >= 0 && x < g.columns - 1 && y < g.rows - 1)) return;
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const auto fx = static_cast<float>(x - ix), fy = static_cast<float>(y - iy);
  const float* a = g.distance.data() + 2 * (iy * g.columns + ix);
  const float* b = a + 2 * g.columns;
  const auto between = [&](int c) {
    return (1 - fy) * ((1 - fx) * a[c] + fx * a[c + 2]) + fy * ((1 - fx) * b[c] + fx * b[c + 2]);
  };
  const float d = between(0), seam = between(1), px = static_cast<float>(half_px_mm);
  inside = std::clamp(0.5F + d / std::max(2 * px, 1e-4F), 0.0F, 1.0F);
  const auto step = [](float from, float to, float v) {
    return static_cast<float>(
        smoothstep(static_cast<double>(from), static_cast<double>(to), static_cast<double>(v)));
  };
  shade = (0.72F + 0.28F * step(-2, 26, d)) * (0.78F + 0.22F * step(0.3F, 1.6F + px, std::abs(seam)));
}

}  // namespace

void SoftPainter::add(const Session& session, const Pane& pane, const RenderSettings& settings,
                      const float within[2], int coarse, std::span<float> canvas, int canvas_width,
                      int canvas_height) {
  const std::shared_ptr<const Build> build = pane.other ? session.other_build() : session.build();
  if (!build || pane.width <= 0 || pane.height <= 0) return;
  Colours& colours = colours_of(build, pane.light);
  const std::vector<RegisterOffset> offsets = session.offsets();
  const double px_per_mm = build->ppi() / kMmPerInch, step = px_per_mm / pane.view.px_per_mm;
  const double loupe =
      pane.film ? 0 : settings.loupe.value_or(Renderer::loupe_weight(*build, pane.view.px_per_mm));
  bool as_built = !pane.other && !pane.film && (pane.light.empty() || pane.light == build->scene->light);
  std::vector<bool> prints;
  for (std::size_t i = 0; i < build->codes.size(); ++i) {
    prints.push_back(session.prints(static_cast<int>(i)));
    as_built = as_built && prints[i] && offsets[i] == build->plates()[i].cover.offset;
  }
  const SoftPrint print(build, offsets, prints, loupe > 0);
  const bool drawn = settings.sims_pictures && as_built;
  const Small* small = nullptr;
  float small_weight = 0, level = 0;
  if (drawn && session.pyramid() && session.pyramid()->build == build && step > kSmallFrom) {
    small = &small_of(session.pyramid());
    small_weight = static_cast<float>(smoothstep(kSmallFrom, kSmallWhole, step));
    level = static_cast<float>(std::max(0.0, std::log2(step / session.pyramid()->shrink) - kSmallSharper));
  }
  const std::shared_ptr<const LoupePicture> close =
      drawn && loupe >= 1 && session.loupe_picture() && session.loupe_picture()->build == build
          ? session.loupe_picture()
          : nullptr;

  const int left = std::max(pane.clip_left, 0), right = pane.clip_right > 0 ? pane.clip_right : pane.width;
  const double x0 = pane.view.centre.x * px_per_mm - 0.5 - 0.5 * pane.width * step,
               y0 = pane.view.centre.y * px_per_mm - 0.5 - 0.5 * pane.height * step;
  const auto size = static_cast<float>(step > 1 ? std::max(1.0, step) : step);
  const int rows = (std::min(pane.height, canvas_height - pane.y) + coarse - 1) / coarse;
  const double middle = 0.5 * build->prediction->width_mm();
  CoverTuple none{};
  parallel_for(static_cast<std::size_t>(std::max(rows, 0)), threads_, [&](std::size_t row, unsigned worker) {
    Mixer& mixer = colours.mixers[worker];
    const XYZf bare = mixer.mix(none.data());
    const int top = static_cast<int>(row) * coarse;
    const double y = y0 + (top + 0.5 * coarse + static_cast<double>(within[1])) * step;
    for (int x = left; x < right; x += coarse) {
      const double px = x0 + (x + 0.5 * coarse + static_cast<double>(within[0])) * step;
      XYZf c;
      float cover = 0;
      if (px >= -0.5 && y >= -0.5 && px < print.width() - 0.5 && y < print.height() - 0.5) {
        cover = 1;
        // A place between plate pixels is that of the nearest one, where a screen pixel covers more than one.
        const double sx = step > 1 ? std::floor(px + 0.5) : px, sy = step > 1 ? std::floor(y + 0.5) : y;
        if (pane.film) {
          const double film = print.film(static_cast<std::size_t>(pane.plate), sx, sy);
          const double light = (0.86 + (0.012 - 0.86) * film);
          c = {static_cast<float>(colours.white.x * light), static_cast<float>(colours.white.y * light),
               static_cast<float>(colours.white.z * light)};
        } else {
          const auto u = static_cast<float>((px + 0.5) / print.width()),
                     v = static_cast<float>((y + 0.5) / print.height());
          const double cu = close ? ((px + 0.5) * print.mm_per_px() - close->corner.x) / close->width_mm : -1;
          const double cv = close ? ((y + 0.5) * print.mm_per_px() - close->corner.y) / close->height_mm : -1;
          if (cu >= 0 && cv >= 0 && cu < 1 && cv < 1) {
            c = close->xyz[static_cast<std::size_t>(cv * close->height) *
                               static_cast<std::size_t>(close->width) +
                           static_cast<std::size_t>(cu * close->width)];
          } else if (small_weight >= 1) {
            c = small->at(u, v, level);
          } else {
            if (loupe < 1) c = print.arms_length(sx, sy, size, mixer);
            if (loupe > 0) {
              const XYZf dots = print.under_loupe(px, y, mixer);
              const auto t = static_cast<float>(loupe);
              c = {c.x + t * (dots.x - c.x), c.y + t * (dots.y - c.y), c.z + t * (dots.z - c.z)};
            }
            if (small_weight > 0) {
              const XYZf s = small->at(u, v, level);
              c = {c.x + small_weight * (s.x - c.x), c.y + small_weight * (s.y - c.y),
                   c.z + small_weight * (s.z - c.z)};
            }
          }
        }
      } else if (pane.garment && !pane.film) {
        float shade = 1;
        garment_at((px + 0.5) * print.mm_per_px() - middle,
                   (y + 0.5) * print.mm_per_px() + kDropBelowCollarMm, 0.5 * step * print.mm_per_px(), cover,
                   shade);
        const float k = shade * cover;
        c = {k * bare.x, k * bare.y, k * bare.z};
      }
      if (cover <= 0) continue;
      for (int j = top; j < std::min(top + coarse, pane.height); ++j) {
        const int cy = pane.y + j;
        if (cy < 0 || cy >= canvas_height) continue;
        for (int i = x; i < std::min(x + coarse, right); ++i) {
          const int cx = pane.x + i;
          if (cx < 0 || cx >= canvas_width) continue;
          float* to =
              canvas.data() + 4 * (static_cast<std::size_t>(cy) * static_cast<std::size_t>(canvas_width) +
                                   static_cast<std::size_t>(cx));
          to[0] += c.x;
          to[1] += c.y;
          to[2] += c.z;
          to[3] += cover;
        }
      }
    }
  });
}

}  // namespace kirtle
