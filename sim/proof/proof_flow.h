#pragma once
// Pages filled from the top down: what the proof's and the ticket's pages share. Not for users of the page
// kit.
#include "proof/page_parts.h"

#include <string>
#include <vector>

namespace kirtle {

constexpr double kPageMargin = 12, kFooter = 9;
constexpr PageColour kPaleGrey{0.93, 0.93, 0.925}, kMidGrey{0.4, 0.4, 0.4};

/// Where the next thing goes.
class PageFlow {
 public:
  PageFlow(double width_mm, double height_mm) : width_(width_mm), height_(height_mm) { next_page(); }

  Page& page() { return pages_.back(); }
  double x() const { return kPageMargin; }
  double y() const { return y_; }
  double width() const { return width_ - 2 * kPageMargin; }
  double room() const { return height_ - kPageMargin - kFooter - y_; }
  PageBox box(double height_mm) const { return {x(), y_, width(), height_mm}; }
  void down(double mm) { y_ += mm; }
  void next_page() {
    pages_.emplace_back(width_, height_);
    y_ = kPageMargin;
  }
  /// Starts a page if there is not so much room. True if it did.
  bool need(double mm) {
    if (mm <= room()) return false;
    next_page();
    return true;
  }
  std::vector<Page> take() { return std::move(pages_); }

 private:
  double width_, height_, y_ = 0;
  std::vector<Page> pages_;
};

/// Sentences one below the other, each with a mark before it: a point, or a box to tick. Returns the height
/// used; what does not fit into box.height is shrunk to fit, then cut.
double place_sentences(Page& page, const std::string& name, const PageBox& box,
                       const std::vector<std::string>& texts, bool tick, double size_pt);
double sentences_height(const std::vector<std::string>& texts, double width_mm, double size_pt);

/// A word with a line after it to write on, filling the box.
void place_blank(Page& page, const std::string& name, const PageBox& box, const std::string& word,
                 double size_pt = 8.5);
/// A box to tick with its text.
void place_tick(Page& page, const std::string& name, const PageBox& box, const std::string& text,
                double size_pt = 9);

}  // namespace kirtle
