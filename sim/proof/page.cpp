#include "proof/page.h"

#include "base/check.h"
#include "proof/text_shape.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <glib.h>

namespace kirtle {

namespace {

bool is_bidi_control(gunichar c) {
  return c == 0x061C || c == 0x200E || c == 0x200F || (c >= 0x202A && c <= 0x202E) ||
         (c >= 0x2066 && c <= 0x2069);
}

bool is_line_end(gunichar c) {
  return c == '\n' || c == '\r' || c == '\t' || c == 0x85 || c == 0x2028 || c == 0x2029;
}

/// Marks stacked on one letter; no script needs more, and a pile of them climbs out of its box.
constexpr int kMostMarks = 4;

constexpr const char* kReplacement = "\xEF\xBF\xBD";  // U+FFFD

}  // namespace

std::string clean_text(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  int marks = 0;
  for (const char* at = text.data(); at < text.data() + text.size();) {
    const gssize left = text.data() + text.size() - at;
    const gunichar c = *at == '\0' ? 0 : g_utf8_get_char_validated(at, left);
    if (static_cast<gint32>(c) < 0) {  // broken
      out += kReplacement;
      ++at;
      continue;
    }
    const char* next = at + (*at == '\0' ? 1 : g_utf8_next_char(at) - at);
    marks = g_unichar_ismark(c) ? marks + 1 : 0;
    if (marks > kMostMarks) {
      at = next;
      continue;
    }
    if (is_line_end(c)) {
      out += ' ';
    } else if (g_unichar_iscntrl(c) || (c & 0xFFFE) == 0xFFFE || (c >= 0xFDD0 && c <= 0xFDEF)) {
      out += kReplacement;
    } else if (!is_bidi_control(c)) {
      out.append(at, next);
    }
    at = next;
  }
  return out;
}

TextFit measure_text(std::string_view text, const TextStyle& style, double width_mm) {
  TextFit fit;
  lay_text(clean_text(text), style, width_mm, -1, fit);
  return fit;
}

Page::Page(double width_mm, double height_mm) : width_mm_(width_mm), height_mm_(height_mm) {
  KIRTLE_CHECK(width_mm, >=, 20.0);
  KIRTLE_CHECK(height_mm, >=, 20.0);
  KIRTLE_CHECK(width_mm, <=, 2000.0);
  KIRTLE_CHECK(height_mm, <=, 2000.0);
}

PlacedItem& Page::add(std::string name, const PageBox& box, PageLayer layer) {
  KIRTLE_CHECK(box.width, >=, 0.0);
  KIRTLE_CHECK(box.height, >=, 0.0);
  PlacedItem item;
  item.name = std::move(name);
  item.box = item.extent = box;
  item.parent = group_;
  item.layer = layer;
  items_.push_back(std::move(item));
  return items_.back();
}

TextFit Page::text(std::string name, const PageBox& box, std::string_view text, const TextStyle& style) {
  PlacedItem& item = add(std::move(name), box, PageLayer::content);
  TextItem laid{clean_text(text), style, false};
  TextFit fit;
  lay_text(laid.text, style, box.width, box.height, fit);
  laid.style.size_pt = laid.style.least_pt = fit.size_pt;
  laid.cut = fit.cut;
  const double spare = box.width - fit.width_mm;
  item.extent.x += style.align == TextAlign::left ? 0 : style.align == TextAlign::centre ? spare / 2 : spare;
  if (style.middle) item.extent.y += std::max(0.0, (box.height - fit.height_mm) / 2);
  item.extent.width = fit.width_mm;
  item.extent.height = fit.height_mm;
  item.glyphs_not_in_font = fit.glyphs_not_in_font;
  item.what = std::move(laid);
  return fit;
}

void Page::picture(std::string name, const PageBox& box, std::shared_ptr<const PagePicture> picture,
                   std::string alt, bool smooth) {
  KIRTLE_CHECK(picture->rgba.size(), ==,
               4 * static_cast<std::size_t>(picture->width) * static_cast<std::size_t>(picture->height));
  KIRTLE_CHECK(picture->width, >, 0);
  KIRTLE_CHECK(picture->height, >, 0);
  PlacedItem& item = add(std::move(name), box, PageLayer::content);
  item.alt = clean_text(alt);
  item.what = PictureItem{std::move(picture), smooth};
}

void Page::swatch(std::string name, const PageBox& box, const PageColour& colour) {
  begin_group(name, box);
  add(name + " colour", box, PageLayer::content).what = FillItem{colour, 0};
  frame(std::move(name), box, 0.1, {0.45, 0.45, 0.45});
  end_group();
}

void Page::fill(std::string name, const PageBox& box, const PageColour& colour, double radius_mm) {
  add(std::move(name), box, PageLayer::backdrop).what = FillItem{colour, radius_mm};
}

void Page::line(std::string name, LineItem line) {
  KIRTLE_CHECK(line.points.size(), >=, std::size_t{2});
  PageBox box{line.points[0].x, line.points[0].y, 0, 0};
  for (const PagePoint& p : line.points) {
    const double right = std::max(box.right(), p.x), bottom = std::max(box.bottom(), p.y);
    box.x = std::min(box.x, p.x);
    box.y = std::min(box.y, p.y);
    box.width = right - box.x;
    box.height = bottom - box.y;
  }
  add(std::move(name), box, PageLayer::backdrop).what = std::move(line);
}

void Page::frame(std::string name, const PageBox& box, double width_mm, const PageColour& colour) {
  LineItem out;
  out.points = {{box.x, box.y}, {box.right(), box.y}, {box.right(), box.bottom()}, {box.x, box.bottom()}};
  out.width_mm = width_mm;
  out.colour = colour;
  out.closed = true;
  line(std::move(name), std::move(out));
}

void Page::begin_group(std::string name, const PageBox& box, PageLayer layer) {
  add(std::move(name), box, layer);
  group_ = static_cast<int>(items_.size()) - 1;
}

void Page::end_group() {
  KIRTLE_CHECK(group_, >=, 0);
  group_ = items_[static_cast<std::size_t>(group_)].parent;
}

void Page::end_group(double used_height_mm) {
  KIRTLE_CHECK(group_, >=, 0);
  PlacedItem& group = items_[static_cast<std::size_t>(group_)];
  group.box.height = group.extent.height = used_height_mm;
  end_group();
}

namespace {

constexpr double kToleranceMm = 0.05;

bool inside(const PageBox& inner, const PageBox& outer) {
  return inner.x >= outer.x - kToleranceMm && inner.y >= outer.y - kToleranceMm &&
         inner.right() <= outer.right() + kToleranceMm && inner.bottom() <= outer.bottom() + kToleranceMm;
}

bool overlap(const PageBox& a, const PageBox& b) {
  return std::min(a.right(), b.right()) - std::max(a.x, b.x) > kToleranceMm &&
         std::min(a.bottom(), b.bottom()) - std::max(a.y, b.y) > kToleranceMm;
}

std::string shown(const PlacedItem& item) {
  char numbers[120];
  std::snprintf(numbers, sizeof numbers, " (%.1f,%.1f %.1f x %.1f mm, takes %.1f x %.1f)", item.box.x,
                item.box.y, item.box.width, item.box.height, item.extent.width, item.extent.height);
  return '"' + item.name + '"' + numbers;
}

}  // namespace

std::vector<std::string> layout_faults(const Page& page) {
  std::vector<std::string> faults;
  const std::vector<PlacedItem>& items = page.items();
  const PageBox paper{0, 0, page.width_mm(), page.height_mm()};
  for (std::size_t i = 0; i < items.size(); ++i) {
    const PlacedItem& item = items[i];
    const PageBox& outer = item.parent < 0 ? paper : items[static_cast<std::size_t>(item.parent)].box;
    if (!inside(item.box, outer)) faults.push_back(shown(item) + " leaves its group or the page");
    if (!inside(item.extent, item.box)) faults.push_back(shown(item) + " leaves its box");
    if (item.layer == PageLayer::backdrop) continue;
    for (std::size_t j = 0; j < i; ++j) {
      const PlacedItem& other = items[j];
      if (other.parent != item.parent || other.layer == PageLayer::backdrop) continue;
      if (overlap(item.box, other.box)) faults.push_back(shown(item) + " overlaps " + shown(other));
    }
  }
  return faults;
}

}  // namespace kirtle
