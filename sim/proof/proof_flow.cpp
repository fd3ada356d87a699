#include "proof/proof_flow.h"

#include <algorithm>

namespace kirtle {

namespace {

constexpr double kMark = 4.2, kBetween = 0.9;

TextStyle sentence_style(double size_pt) {
  TextStyle out;
  out.size_pt = size_pt;
  out.least_pt = 5.5;
  return out;
}

}  // namespace

double sentences_height(const std::vector<std::string>& texts, double width_mm, double size_pt) {
  double height = 0;
  for (const std::string& text : texts)
    height += measure_text(text, sentence_style(size_pt), width_mm - kMark).height_mm + kBetween;
  return height;
}

double place_sentences(Page& page, const std::string& name, const PageBox& box,
                       const std::vector<std::string>& texts, bool tick, double size_pt) {
  // Together too high: each gets its share of what there is.
  while (size_pt > 6 && sentences_height(texts, box.width, size_pt) > box.height) size_pt -= 0.5;
  const double squeeze =
      std::min(1.0, box.height / std::max(0.1, sentences_height(texts, box.width, size_pt)));
  double y = box.y;
  for (const std::string& text : texts) {
    const double height = measure_text(text, sentence_style(size_pt), box.width - kMark).height_mm * squeeze;
    if (tick) {
      page.frame(name + " tick", {box.x + 0.2, y + 0.7, 2.6, 2.6}, 0.25);
    } else {
      page.fill(name + " point", {box.x + 0.9, y + 1.6, 1, 1}, {0, 0, 0}, 0.5);
    }
    page.text(name, {box.x + kMark, y, box.width - kMark, height}, text, sentence_style(size_pt));
    y += height + kBetween * squeeze;
  }
  return y - box.y;
}

void place_blank(Page& page, const std::string& name, const PageBox& box, const std::string& word,
                 double size_pt) {
  TextStyle style = sentence_style(size_pt);
  style.wrap = false;
  const double width = std::min(box.width, measure_text(word, style, 500).width_mm + 0.3);
  const double height = std::min(box.height, measure_text(word, style, 500).height_mm);
  page.text(name, {box.x, box.bottom() - height, width, height}, word, style);
  if (box.width - width > 4)
    page.line(name + " line", {{{box.x + width + 1.5, box.bottom() - 0.8}, {box.right(), box.bottom() - 0.8}},
                               0.18,
                               kMidGrey,
                               {},
                               false});
}

void place_tick(Page& page, const std::string& name, const PageBox& box, const std::string& text,
                double size_pt) {
  page.frame(name + " tick", {box.x + 0.2, box.y + (box.height - 3.4) / 2, 3.4, 3.4}, 0.3);
  TextStyle style = sentence_style(size_pt);
  style.middle = true;
  page.text(name, {box.x + 5.2, box.y, box.width - 5.2, box.height}, text, style);
}

}  // namespace kirtle
