#include "proof/garment_panel.h"

#include "proof/page_parts.h"
#include "proof/proof_flow.h"
#include "proof/proof_words.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

constexpr double kPaperPxPerMm = 254 / kMmPerInch;

/// Both units, each whole: the line breaks only between them.
std::string measure_words(double mm) {
  std::string out;
  const std::string plain = both_units(mm);
  for (std::size_t i = 0; i < plain.size(); ++i) {
    const bool between = plain[i] == ' ' && i + 1 < plain.size() && plain[i + 1] == '(';
    out += plain[i] == ' ' && !between ? "\u00a0" : std::string(1, plain[i]);
  }
  return out;
}

}  // namespace

void place_garments(Page& page, const std::string& name, const PageBox& box, const PrintStudy& study,
                    std::size_t shirt, const std::vector<PanelShirt>& shirts, bool measures) {
  const double caption = measures ? 8.6 : 0, below = measures ? 7.5 : 0.5, left = measures ? 15 : 0.5,
               pad = 1.5;
  std::vector<Garment> garments;
  std::vector<GarmentLayout> layouts;
  double sum_mm = 0, tallest_mm = 0;
  for (const PanelShirt& s : shirts) {
    Garment g;
    const ShirtMeasures m = measures_of(s.size);
    g.chest_mm = m.chest_in * kMmPerInch;
    g.length_mm = m.length_in * kMmPerInch;
    g.cloth = study.shirts[shirt].linear;
    g.location = study.print.location;
    g.drop_mm = s.drop_mm;
    g.print_width_mm = s.print_width_mm;
    g.print_height_mm = s.print_width_mm * study.height_mm / study.width_mm;
    garments.push_back(g);
    layouts.push_back(lay_garment(g));
    sum_mm += layouts.back().width_mm;
    tallest_mm = std::max(tallest_mm, layouts.back().height_mm);
  }
  const double count = static_cast<double>(shirts.size());
  const double scale = std::min((box.width - count * (left + 2 * pad)) / sum_mm,
                                (box.height - caption - below - 2 * pad) / tallest_mm);
  page.begin_group(name, box);
  page.fill(name + " ground", box, kPaleGrey, 2);
  const double spare = (box.width - count * (left + 2 * pad) - sum_mm * scale) / count;
  double x = box.x;
  for (std::size_t i = 0; i < shirts.size(); ++i) {
    const GarmentLayout& layout = layouts[i];
    const double width = layout.width_mm * scale, height = layout.height_mm * scale;
    const double column = left + 2 * pad + width + spare;
    const double gx = x + pad + left + spare / 2, gy = box.bottom() - below - pad - height;
    TextStyle small;
    small.size_pt = 8;
    small.least_pt = 6;
    if (measures) {
      small.align = TextAlign::centre;
      page.text(name + " caption", {x + pad, box.y + pad, column - 2 * pad, caption - pad}, shirts[i].caption,
                small);
    }
    page.picture(name + " shirt", {gx, gy, width, height},
                 std::make_shared<PagePicture>(
                     draw_garment(garments[i], study.shirts[shirt].print, kPaperPxPerMm * scale)),
                 garment_alt(study, study.shirts[shirt].name));
    if (measures && study.print.location != PrintLocation::sleeve) {
      const PageBox print{gx + layout.print.x * scale, gy + layout.print.y * scale,
                          layout.print.width * scale, layout.print.height * scale};
      const double my = box.bottom() - below, mx = gx - 2;
      for (const double px : {print.x, print.right()})
        page.line(name + " guide",
                  {{{px, print.bottom()}, {px, my}}, 0.12, {0.55, 0.55, 0.55}, {0.8, 0.8}, false});
      for (const double py : {print.y, print.bottom()})
        page.line(name + " guide", {{{print.x, py}, {mx, py}}, 0.12, {0.55, 0.55, 0.55}, {0.8, 0.8}, false});
      const double half =
          std::min({20.0, (print.x + print.right()) / 2 - x, x + column - (print.x + print.right()) / 2});
      const double middle = (print.x + print.right()) / 2;
      place_measure(page, name + " width", {print.x, my}, {print.right(), my},
                    {middle - half, my + 1.5, 2 * half, below - 2},
                    measure_words(garments[i].print_width_mm));
      const double text_y = std::clamp((print.y + print.bottom()) / 2 - 4, box.y + caption + pad, my - 9);
      place_measure(page, name + " height", {mx, print.y}, {mx, print.bottom()},
                    {mx - left + 0.7, text_y, left - 2.2, 8}, measure_words(garments[i].print_height_mm));
    } else if (measures) {
      small.align = TextAlign::centre;
      page.text(name + " size", {x + pad, box.bottom() - below + 1, column - 2 * pad, below - 1.5},
                both_units(garments[i].print_width_mm) + " wide, " + both_units(garments[i].print_height_mm) +
                    " high",
                small);
    }
    x += column;
  }
  page.end_group();
}

}  // namespace kirtle
