#pragma once
// A page before it is paper: boxes of text, pictures, swatches and lines, in mm from the page's top left
// corner, in reading order. What every box was given and what it takes can be asked, so that a layout is
// checked by its boxes. page_file.h writes pages as PDF and PNG; page_parts.h has tables, plots, headings.
//
// Text is plain: no markup is ever read in it. Control characters, bidirectional overrides and broken UTF-8
// are replaced before anything is measured (clean_text).
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace kirtle {

/// sRGB, encoded, each 0..1.
struct PageColour {
  double r = 0, g = 0, b = 0;
  bool operator==(const PageColour&) const = default;
};

/// mm from the page's top left corner.
struct PagePoint {
  double x = 0, y = 0;
};
struct PageBox {
  double x = 0, y = 0, width = 0, height = 0;
  double right() const { return x + width; }
  double bottom() const { return y + height; }
};

/// Pixels as a page shows them: R G B A, straight alpha, sRGB, from the top.
struct PagePicture {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgba;  ///< 4 * width * height
};

enum class TextAlign { left, centre, right };
enum class TextRole { body, title, heading };

struct TextStyle {
  double size_pt = 9;
  double least_pt =
      0;  ///< may shrink to this, in steps of half a point, before it is cut; 0 = does not shrink
  bool bold = false, italic = false;
  bool wrap = true;  ///< false: one line
  PageColour colour{0, 0, 0};
  TextAlign align = TextAlign::left;
  bool middle = false;  ///< stands in the middle of its box's height
  TextRole role = TextRole::body;
};

/// How a text lies in its box.
struct TextFit {
  double width_mm = 0, height_mm = 0;
  double size_pt = 0;
  bool cut = false;            ///< ends in an ellipsis: it did not fit
  int glyphs_not_in_font = 0;  ///< shown as empty boxes
};

/// Valid UTF-8 without control characters: line ends and tabs become spaces, other controls and broken bytes
/// U+FFFD; bidirectional overrides and isolates, which can make a name read as another, are dropped, and so
/// are marks beyond the fourth on one letter.
std::string clean_text(std::string_view text);

/// Size that text takes in a box of this width, with height to spare.
TextFit measure_text(std::string_view text, const TextStyle& style, double width_mm);

struct TextItem {
  std::string text;  ///< cleaned
  TextStyle style;   ///< size_pt as it fits
  bool cut = false;
};
struct PictureItem {
  std::shared_ptr<const PagePicture> picture;
  bool smooth = true;  ///< false: pixels stay hard-edged
};
struct FillItem {
  PageColour colour{};
  double radius_mm = 0;
};
/// A line through points.
struct LineItem {
  std::vector<PagePoint> points;
  double width_mm = 0.2;
  PageColour colour{};
  std::vector<double> dash_mm;  ///< empty = solid
  bool closed = false;
};
/// Holds others.
struct GroupItem {};

enum class PageLayer {
  content,   ///< overlaps no other content beside it
  backdrop,  ///< lies under or across others: fills, rules, curves
};

struct PlacedItem {
  std::string name;  ///< for tests and messages
  PageBox box;       ///< what it was given
  PageBox extent;    ///< what it takes
  int parent = -1;   ///< index of its group, -1 = the page
  PageLayer layer = PageLayer::content;
  int glyphs_not_in_font = 0;
  std::string alt;  ///< what a picture shows, for people who do not see it
  std::variant<GroupItem, TextItem, PictureItem, FillItem, LineItem> what;
};

class Page {
 public:
  /// Throws InternalError unless both sides are 20..2000 mm.
  Page(double width_mm, double height_mm);

  double width_mm() const { return width_mm_; }
  double height_mm() const { return height_mm_; }

  /// Text in a box: wraps, then shrinks to style.least_pt, then ends in an ellipsis.
  TextFit text(std::string name, const PageBox& box, std::string_view text, const TextStyle& style = {});
  /// A picture at just this size on paper.
  void picture(std::string name, const PageBox& box, std::shared_ptr<const PagePicture> picture,
               std::string alt, bool smooth = true);
  /// A patch of one colour with a hair line round it, content: it is not covered.
  void swatch(std::string name, const PageBox& box, const PageColour& colour);
  /// A fill behind others.
  void fill(std::string name, const PageBox& box, const PageColour& colour, double radius_mm = 0);
  void line(std::string name, LineItem line);
  void frame(std::string name, const PageBox& box, double width_mm = 0.2, const PageColour& colour = {});

  /// What follows, up to end_group, lies in this group's box.
  void begin_group(std::string name, const PageBox& box, PageLayer layer = PageLayer::content);
  void end_group();
  /// The same; the group's box ends this far below its top, which is what it took.
  void end_group(double used_height_mm);

  const std::vector<PlacedItem>& items() const { return items_; }  ///< in reading order

 private:
  PlacedItem& add(std::string name, const PageBox& box, PageLayer layer);
  double width_mm_, height_mm_;
  std::vector<PlacedItem> items_;
  int group_ = -1;
};

/// What is wrong with a page's layout, one line a fault; empty = nothing. A box that leaves its group or the
/// page, text that leaves its box, content that overlaps content of the same group.
std::vector<std::string> layout_faults(const Page& page);

}  // namespace kirtle
