// The drawn T-shirt. Its cut is ours: plausible, no source.
#include "light/srgb.h"
#include "proof/cloth_picture.h"

#include <algorithm>
#include <cairo.h>
#include <cmath>
#include <memory>
#include <new>
#include <numbers>

namespace kirtle {

namespace {

constexpr double kMargin = 12;       // round the garment
constexpr double kSleeveAngle = 40;  // below the level, degrees
constexpr double kRib = 20;          // of the collar
constexpr double kHem = 20;          // stitches above an edge

/// The cut, from the middle line outward; mm.
struct Cut {
  explicit Cut(const Garment& g) : half(g.chest_mm / 2), length(g.length_mm) {
    neck = std::clamp(0.185 * g.chest_mm, 66.0, 108.0);
    shoulder_x = 0.9 * half;
    shoulder_y = kMargin + 0.095 * g.chest_mm;
    armpit_y = kMargin + 0.47 * g.chest_mm;
    sleeve = 0.41 * g.chest_mm;
    opening = 0.37 * g.chest_mm;
    dir_x = std::cos(kSleeveAngle * std::numbers::pi / 180);
    dir_y = std::sin(kSleeveAngle * std::numbers::pi / 180);
    cuff_x = shoulder_x + sleeve * dir_x;
    cuff_y = shoulder_y + sleeve * dir_y;
    cuff_low_x = cuff_x - opening * dir_y;
    cuff_low_y = cuff_y + opening * dir_x;
    width = 2 * (cuff_x + kMargin);
    height = kMargin + length + 2 * kMargin;
    middle = width / 2;
    front_seam = kMargin + 1.02 * neck;
    back_seam = kMargin + 0.42 * neck;
  }
  double half, length, neck, shoulder_x, shoulder_y, armpit_y, sleeve, opening, dir_x, dir_y;
  double cuff_x, cuff_y, cuff_low_x, cuff_low_y, width, height, middle, front_seam, back_seam;
  double hem_y() const { return kMargin + length; }
};

struct Release {
  void operator()(cairo_surface_t* s) const { cairo_surface_destroy(s); }
  void operator()(cairo_t* c) const { cairo_destroy(c); }
};

/// A shape as coverage 0..255 a pixel.
class Mask {
 public:
  Mask(int width, int height, double px_per_mm)
      : width_(width),
        surface_(cairo_image_surface_create(CAIRO_FORMAT_A8, width, height)),
        cairo_(cairo_create(surface_.get())) {
    if (cairo_status(cairo_.get()) != CAIRO_STATUS_SUCCESS) throw std::bad_alloc();
    cairo_scale(cairo_.get(), px_per_mm, px_per_mm);
    cairo_set_source_rgba(cairo_.get(), 1, 1, 1, 1);
  }
  cairo_t* pen() { return cairo_.get(); }
  double at(int x, int y) const {
    const unsigned char* data = cairo_image_surface_get_data(surface_.get());
    return data[static_cast<std::ptrdiff_t>(y) * cairo_image_surface_get_stride(surface_.get()) + x] / 255.0;
  }
  void finish() { cairo_surface_flush(surface_.get()); }

 private:
  int width_;
  std::unique_ptr<cairo_surface_t, Release> surface_;
  std::unique_ptr<cairo_t, Release> cairo_;
};

/// From the left neck point to the right one, sagging to `low`.
void neckline(cairo_t* c, const Cut& k, double inset, double top, double low) {
  const double n = k.neck - inset;
  cairo_curve_to(c, k.middle - n * 0.92, top + 0.62 * (low - top), k.middle - n * 0.55, low, k.middle, low);
  cairo_curve_to(c, k.middle + n * 0.55, low, k.middle + n * 0.92, top + 0.62 * (low - top), k.middle + n,
                 top);
}

void body_path(cairo_t* c, const Cut& k, double seam) {
  cairo_move_to(c, k.middle - k.neck, kMargin);
  neckline(c, k, 0, kMargin, seam);
  cairo_line_to(c, k.middle + k.shoulder_x, k.shoulder_y);
  cairo_curve_to(c, k.middle + 0.86 * k.half, k.shoulder_y + 0.4 * (k.armpit_y - k.shoulder_y),
                 k.middle + 0.88 * k.half, k.shoulder_y + 0.8 * (k.armpit_y - k.shoulder_y),
                 k.middle + k.half, k.armpit_y);
  cairo_curve_to(c, k.middle + 0.985 * k.half, k.armpit_y + 0.3 * k.length, k.middle + 0.985 * k.half,
                 k.hem_y() - 60, k.middle + 0.99 * k.half, k.hem_y());
  cairo_curve_to(c, k.middle + 0.4 * k.half, k.hem_y() + 9, k.middle - 0.4 * k.half, k.hem_y() + 9,
                 k.middle - 0.99 * k.half, k.hem_y());
  cairo_curve_to(c, k.middle - 0.985 * k.half, k.hem_y() - 60, k.middle - 0.985 * k.half,
                 k.armpit_y + 0.3 * k.length, k.middle - k.half, k.armpit_y);
  cairo_curve_to(c, k.middle - 0.88 * k.half, k.shoulder_y + 0.8 * (k.armpit_y - k.shoulder_y),
                 k.middle - 0.86 * k.half, k.shoulder_y + 0.4 * (k.armpit_y - k.shoulder_y),
                 k.middle - k.shoulder_x, k.shoulder_y);
  cairo_close_path(c);
}

/// side -1 left, 1 right of the picture.
void sleeve_path(cairo_t* c, const Cut& k, double side) {
  const auto x = [&](double v) { return k.middle + side * v; };
  cairo_move_to(c, x(k.shoulder_x - 6), k.shoulder_y - 1);
  cairo_curve_to(c, x(k.shoulder_x + 0.3 * k.sleeve * k.dir_x), k.shoulder_y + 0.18 * k.sleeve * k.dir_y,
                 x(k.shoulder_x + 0.7 * k.sleeve * k.dir_x), k.shoulder_y + 0.62 * k.sleeve * k.dir_y,
                 x(k.cuff_x), k.cuff_y);
  cairo_line_to(c, x(k.cuff_low_x), k.cuff_low_y);
  cairo_line_to(c, x(k.half - 2), k.armpit_y + 2);
  cairo_line_to(c, x(0.7 * k.half), k.armpit_y - 20);
  cairo_close_path(c);
}

void collar_path(cairo_t* c, const Cut& k, double seam) {
  const double rib_top = kMargin - 5;
  cairo_move_to(c, k.middle - k.neck, kMargin);
  neckline(c, k, 0, kMargin, seam);
  cairo_line_to(c, k.middle + k.neck - kRib + 4, rib_top);
  const double n = k.neck - kRib + 4, low = seam - kRib;
  cairo_curve_to(c, k.middle + n * 0.92, rib_top + 0.62 * (low - rib_top), k.middle + n * 0.55, low, k.middle,
                 low);
  cairo_curve_to(c, k.middle - n * 0.55, low, k.middle - n * 0.92, rib_top + 0.62 * (low - rib_top),
                 k.middle - n, rib_top);
  cairo_close_path(c);
}

/// What shows of the inside of the back above the front's collar.
void inside_path(cairo_t* c, const Cut& k) {
  const double top = kMargin - 5, n = k.neck - kRib + 4;
  cairo_move_to(c, k.middle - n, top);
  neckline(c, k, kRib - 4, top, k.front_seam - kRib);
  cairo_curve_to(c, k.middle + n * 0.5, top + 11, k.middle - n * 0.5, top + 11, k.middle - n, top);
  cairo_close_path(c);
}

void seams(cairo_t* c, const Cut& k, double seam) {
  cairo_set_line_width(c, 1.1);
  for (const double side : {-1.0, 1.0}) {
    const auto x = [&](double v) { return k.middle + side * v; };
    cairo_move_to(c, x(k.shoulder_x), k.shoulder_y);
    cairo_curve_to(c, x(0.86 * k.half), k.shoulder_y + 0.4 * (k.armpit_y - k.shoulder_y), x(0.88 * k.half),
                   k.shoulder_y + 0.8 * (k.armpit_y - k.shoulder_y), x(k.half), k.armpit_y);
    cairo_stroke(c);
    cairo_move_to(c, x(k.cuff_x - kHem * k.dir_x), k.cuff_y - kHem * k.dir_y);
    cairo_line_to(c, x(k.cuff_low_x - kHem * k.dir_x), k.cuff_low_y - kHem * k.dir_y);
    cairo_stroke(c);
  }
  cairo_move_to(c, k.middle - 0.987 * k.half, k.hem_y() - kHem);
  cairo_curve_to(c, k.middle - 0.4 * k.half, k.hem_y() + 9 - kHem, k.middle + 0.4 * k.half,
                 k.hem_y() + 9 - kHem, k.middle + 0.987 * k.half, k.hem_y() - kHem);
  cairo_stroke(c);
  cairo_move_to(c, k.middle - k.neck, kMargin);
  neckline(c, k, 0, kMargin, seam);
  cairo_stroke(c);
}

double smooth(double from, double to, double x) {
  const double t = std::clamp((x - from) / (to - from), 0.0, 1.0);
  return t * t * (3 - 2 * t);
}
double bump(double x, double width) { return std::exp(-x * x / (width * width)); }

/// Drape: light on the body, 1 = as predicted. Folds are a drawing's.
double body_shade(const Cut& k, double x_mm, double y_mm) {
  struct Fold {
    double at, lean, height, width;
  };
  static constexpr Fold kFolds[] = {{-0.70, 0.06, -0.09, 0.055}, {-0.60, 0.06, 0.05, 0.06},
                                    {-0.28, -0.05, -0.05, 0.08}, {-0.14, -0.05, 0.03, 0.08},
                                    {0.24, 0.07, -0.05, 0.07},   {0.36, 0.07, 0.04, 0.07},
                                    {0.66, -0.04, -0.08, 0.06},  {0.76, -0.04, 0.05, 0.05}};
  const double u = (x_mm - k.middle) / k.half, v = (y_mm - kMargin) / k.length;
  double shade = 1.02 - 0.22 * smooth(0.74, 1.02, std::abs(u)) - 0.05 * smooth(0.7, 1, v);
  const double drape = smooth(0.35, 0.95, v);
  for (const Fold& f : kFolds) shade += f.height * drape * bump(u - f.at - f.lean * v * v, f.width);
  for (const double side : {-1.0, 1.0}) {  // from the armpit towards the chest
    const double a = (side * u - 0.92) * 0.5 + (v - 0.33) * 1.1;
    const double along = smooth(0.3, 0.95, side * u) * bump(v - 0.3, 0.14);
    shade -= 0.10 * along * bump(a, 0.035);
    shade += 0.05 * along * bump(a - 0.06, 0.04);
  }
  return shade;
}

double sleeve_shade(const Cut& k, double x_mm, double y_mm) {
  const double side = x_mm > k.middle ? 1 : -1;
  const double x = side * (x_mm - k.middle) - k.shoulder_x, y = y_mm - k.shoulder_y;
  const double across = (-x * k.dir_y + y * k.dir_x) / k.opening;  // 0 upper edge, 1 lower
  const double along = (x * k.dir_x + y * k.dir_y) / k.sleeve;
  double shade = 1.0 - 0.16 * smooth(0.55, 1.05, across) - 0.1 * smooth(0.12, -0.02, across);
  shade -= 0.10 * bump(across - 0.45 - 0.3 * along, 0.05) * smooth(0.9, 0.1, along);
  shade += 0.05 * bump(across - 0.33 - 0.3 * along, 0.06) * smooth(0.9, 0.1, along);
  return shade;
}

using Colour = std::array<float, 3>;

Colour lit(const Colour& colour, double shade) {
  Colour out;
  // A little light comes back off the crests of folds, whatever the dye; it is what shows folds on black.
  const double sheen = 0.05 * std::max(0.0, shade - 0.97);
  for (std::size_t i = 0; i < 3; ++i)
    out[i] = static_cast<float>(std::max(0.0, static_cast<double>(colour[i]) * shade + sheen));
  return out;
}

void lay(Colour& under, const Colour& over, double share) {
  for (std::size_t i = 0; i < 3; ++i)
    under[i] = static_cast<float>(static_cast<double>(under[i]) * (1 - share) +
                                  static_cast<double>(over[i]) * share);
}

/// The print at a point of it, 0..1 from its top left corner, bilinear.
Colour print_at(const PrintPixels& print, double u, double v) {
  const double x = std::clamp(u * print.width - 0.5, 0.0, print.width - 1.0);
  const double y = std::clamp(v * print.height - 0.5, 0.0, print.height - 1.0);
  const int x0 = static_cast<int>(x), y0 = static_cast<int>(y);
  const int x1 = std::min(x0 + 1, print.width - 1), y1 = std::min(y0 + 1, print.height - 1);
  const auto at = [&](int px, int py) {
    return print.rgb[static_cast<std::size_t>(py) * static_cast<std::size_t>(print.width) +
                     static_cast<std::size_t>(px)];
  };
  Colour top = at(x0, y0), low = at(x0, y1);
  lay(top, at(x1, y0), x - x0);
  lay(low, at(x1, y1), x - x0);
  lay(top, low, y - y0);
  return top;
}

}  // namespace

GarmentLayout lay_garment(const Garment& g) {
  const Cut k(g);
  GarmentLayout out;
  out.width_mm = k.width;
  out.height_mm = k.height;
  const bool back = view_of(g.location) == GarmentView::back;
  out.collar_y_mm = back ? k.back_seam : k.front_seam;
  double x = k.middle - g.print_width_mm / 2, y = out.collar_y_mm + g.drop_mm;
  if (g.location == PrintLocation::left_chest) x += 0.215 * g.chest_mm;
  if (g.location == PrintLocation::sleeve) {
    // The wearer's left sleeve, upright where the arm hangs.
    const double in = g.drop_mm + g.print_height_mm / 2;
    x = k.middle + (k.cuff_x + k.cuff_low_x) / 2 - in * k.dir_x - g.print_width_mm / 2;
    y = (k.cuff_y + k.cuff_low_y) / 2 - in * k.dir_y - g.print_height_mm / 2;
    out.turn_deg = kSleeveAngle - 90;
  }
  out.print = {x, y, g.print_width_mm, g.print_height_mm};
  return out;
}

PagePicture draw_garment(const Garment& g, const PrintPixels& print, double px_per_mm,
                         const std::optional<GarmentWindow>& window) {
  const Cut k(g);
  const GarmentLayout layout = lay_garment(g);
  const bool back = view_of(g.location) == GarmentView::back;
  const double seam = back ? k.back_seam : k.front_seam;
  const int whole_width = std::max(1, static_cast<int>(std::lround(k.width * px_per_mm)));
  const int whole_height = std::max(1, static_cast<int>(std::lround(k.height * px_per_mm)));
  const GarmentWindow part = window.value_or(GarmentWindow{0, 0, whole_width, whole_height});
  PagePicture out;
  out.width = part.width;
  out.height = part.height;
  const auto mask = [&](const auto& draw) {
    Mask m(whole_width, whole_height, px_per_mm);
    draw(m.pen());
    m.finish();
    return m;
  };
  const Mask sleeves = mask([&](cairo_t* c) {
    for (const double side : {-1.0, 1.0}) {
      sleeve_path(c, k, side);
      cairo_fill(c);
    }
  });
  const Mask body = mask([&](cairo_t* c) {
    body_path(c, k, seam);
    cairo_fill(c);
  });
  const Mask inside = mask([&](cairo_t* c) {
    if (back) return;
    inside_path(c, k);
    cairo_fill(c);
  });
  const Mask collar = mask([&](cairo_t* c) {
    collar_path(c, k, seam);
    cairo_fill(c);
  });
  const Mask lines = mask([&](cairo_t* c) { seams(c, k, seam); });
  const Mask outline = mask([&](cairo_t* c) {
    cairo_set_line_width(c, std::max(0.9, 1.2 / px_per_mm));
    for (const double side : {-1.0, 1.0}) {
      sleeve_path(c, k, side);
      cairo_stroke(c);
    }
    body_path(c, k, seam);
    cairo_stroke(c);
    collar_path(c, k, seam);
    cairo_stroke(c);
  });

  const double light = 0.2126 * static_cast<double>(g.cloth[0]) + 0.7152 * static_cast<double>(g.cloth[1]) +
                       0.0722 * static_cast<double>(g.cloth[2]);
  // Seams show darker than light cloth and lighter than dark cloth.
  const Colour seam_colour = light < 0.12
                                 ? Colour{g.cloth[0] + 0.035F, g.cloth[1] + 0.035F, g.cloth[2] + 0.035F}
                                 : Colour{g.cloth[0] * 0.66F, g.cloth[1] * 0.66F, g.cloth[2] * 0.66F};
  const double turn = layout.turn_deg * std::numbers::pi / 180;
  const double centre_x = layout.print.x + layout.print.width / 2,
               centre_y = layout.print.y + layout.print.height / 2;
  out.rgba.reserve(4 * static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height));
  for (int py = part.y0; py < part.y0 + part.height; ++py) {
    for (int px = part.x0; px < part.x0 + part.width; ++px) {
      if (px < 0 || py < 0 || px >= whole_width || py >= whole_height) {
        out.rgba.insert(out.rgba.end(), {0, 0, 0, 0});
        continue;
      }
      const double x = (px + 0.5) / px_per_mm, y = (py + 0.5) / px_per_mm;
      const double in_sleeve = sleeves.at(px, py), in_body = body.at(px, py), in_collar = collar.at(px, py),
                   in_inside = inside.at(px, py), on_outline = outline.at(px, py);
      const double alpha = std::max({in_sleeve, in_body, in_collar, in_inside, 0.8 * on_outline});
      if (alpha <= 0) {
        out.rgba.insert(out.rgba.end(), {0, 0, 0, 0});
        continue;
      }
      Colour cloth = g.cloth;
      const double dx = x - centre_x, dy = y - centre_y;
      const double u = (dx * std::cos(turn) + dy * std::sin(turn)) / layout.print.width + 0.5;
      const double v = (-dx * std::sin(turn) + dy * std::cos(turn)) / layout.print.height + 0.5;
      if (u >= 0 && u < 1 && v >= 0 && v < 1) cloth = print_at(print, u, v);
      Colour c = lit(cloth, sleeve_shade(k, x, y));
      lay(c, lit(g.cloth, 0.5), in_inside);
      lay(c, lit(cloth, body_shade(k, x, y)), in_body);
      const double rib = 0.95 + 0.05 * std::sin(x * 2 * std::numbers::pi / 3.4);
      lay(c, lit(g.cloth, rib), in_collar);
      lay(c, seam_colour, 0.7 * lines.at(px, py));
      lay(c, lit(Colour{g.cloth[0] * 0.45F, g.cloth[1] * 0.45F, g.cloth[2] * 0.45F}, 1), 0.55 * on_outline);
      for (const float value : c)
        out.rgba.push_back(static_cast<std::uint8_t>(
            std::lround(255 * srgb_encode(std::clamp(static_cast<double>(value), 0.0, 1.0)))));
      out.rgba.push_back(static_cast<std::uint8_t>(std::lround(255 * std::min(1.0, alpha))));
    }
  }
  return out;
}

}  // namespace kirtle
