#include "range/contact_sheet.h"

#include "base/check.h"
#include "proof/page_parts.h"
#include "proof/proof_flow.h"

#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <set>

namespace kirtle {

namespace {

constexpr std::size_t kColumns = 6;
constexpr double kGutter = 3, kPictureHeight = 28, kTextGap = 0.8, kLineGap = 0.3, kText = 3.3;
constexpr double kHeading = 8;
constexpr double kWidth = kA4.width_mm - 2 * kPageMargin;
constexpr double kCell = (kWidth - kGutter * (kColumns - 1)) / kColumns;

TextStyle small(double pt, bool bold = false) {
  TextStyle s;
  s.size_pt = pt;
  s.least_pt = 5;
  s.bold = bold;
  return s;
}

TextStyle one_line(double pt, bool bold = false) {
  TextStyle s = small(pt, bold);
  s.wrap = false;
  return s;
}

std::string screens_text(const RangeLine& line) {
  if (line.new_screens == 0) return "no new screen";
  return fmt::format("{} new screen{}", line.new_screens, line.new_screens == 1 ? "" : "s");
}

std::shared_ptr<const PagePicture> picture_of(const RangeFigures& f) {
  auto out = std::make_shared<PagePicture>();
  out->width = f.width;
  out->height = f.height;
  for (std::size_t i = 0; i < f.rgb.size(); i += 3)
    out->rgba.insert(out->rgba.end(), {f.rgb[i], f.rgb[i + 1], f.rgb[i + 2], 255});
  return out;
}

class Sheet {
 public:
  Sheet(const std::vector<Scene>& scenes, const RangeResult& result)
      : scenes_(scenes), result_(result), flow_(kA4.width_mm, kA4.height_mm) {}

  ContactSheet make() {
    ContactSheet out;
    heading();
    table();
    out.first_pictures = pictures();
    out.document.title = title();
    out.document.subject = "The design on every shirt: what works, how far off, how many new screens";
    out.document.pages = flow_.take();
    number_pages(
        out.document.pages,
        "Predicted from ink and shirt records: test print each shirt and dye lot before an order is taken.",
        kPageMargin);
    return out;
  }

 private:
  std::string title() const {
    return scenes_.size() == 1 ? "Range: " + scenes_.front().title
                               : fmt::format("Range: {} designs", scenes_.size());
  }

  std::string size_text() const {
    std::set<std::string> ids;
    for (const RangeItem& item : result_.items) ids.insert(item.shirt);
    const std::string shirts = fmt::format("{} shirt{}", ids.size(), ids.size() == 1 ? "" : "s");
    return scenes_.size() == 1 ? shirts : fmt::format("{} designs on {}", scenes_.size(), shirts);
  }

  std::size_t count(RangeVerdict verdict) const {
    return static_cast<std::size_t>(
        std::count_if(result_.items.begin(), result_.items.end(),
                      [&](const RangeItem& i) { return best_line(i).figures.verdict == verdict; }));
  }

  void heading() {
    std::string below;
    for (const Scene& scene : scenes_)
      below += fmt::format("{}{}made for {}, seen under {}", below.empty() ? "" : "; ",
                           scenes_.size() > 1 ? scene.title + ": " : "", scene.shirt.name, scene.light);
    flow_.down(place_heading(
        flow_.page(), flow_.box(26), title(), below,
        {size_text(), fmt::format("{} work", count(RangeVerdict::works)),
         fmt::format("{} with care, {} do not", count(RangeVerdict::care), count(RangeVerdict::no))}));
    flow_.down(2);
    sentence(
        "Off: mean CIEDE2000 between the print on this shirt and the design as it is on its own shirt, over "
        "the "
        "inked area; under 1 none to see, under 2 side by side only, under 4 seen, above it another colour "
        "(common practice, no source). In brackets: what 95 % of the area stays within. New screens: to be "
        "made "
        "beyond those of the design as it is; another ink goes through the same screen.");
    if (discharges())
      sentence(
          "Discharge inks release formaldehyde and sulphur compounds in the dryer: air, dryer and gloves as "
          "the "
          "supplier's safety data sheet and local rules have it; ask before youth sizes; have shirts washed "
          "before "
          "they are worn.");
    for (const std::string& text : about_plates()) sentence(text);
    flow_.down(1);
  }

  bool discharges() const {
    const auto agent = [](const ScenePass& pass) { return pass.ink.agent_g_cm3 > 0; };
    const auto into = [](const RangeLine& line) { return line.id == kAllDischarge; };
    return std::any_of(
               scenes_.begin(), scenes_.end(),
               [&](const Scene& s) { return std::any_of(s.passes.begin(), s.passes.end(), agent); }) ||
           std::any_of(result_.items.begin(), result_.items.end(),
                       [&](const RangeItem& i) { return std::any_of(i.lines.begin(), i.lines.end(), into); });
  }

  /// What is said of the plates and of the design on its own shirt, once a scene.
  std::vector<std::string> about_plates() const {
    std::vector<std::string> told;
    const auto tell = [&](const RangeItem& item, const char* before, const std::vector<std::string>& kinds,
                          const char* after) {
      std::string list;
      for (std::string kind : kinds) {
        std::replace(kind.begin(), kind.end(), '-', ' ');
        list += (list.empty() ? "" : ", ") + kind;
      }
      if (list.empty()) return;
      const std::string text =
          (scenes_.size() > 1 ? scenes_[item.scene].title + ": " : std::string()) + before + list + after;
      if (std::find(told.begin(), told.end(), text) == told.end()) told.push_back(text);
    };
    for (const RangeItem& item : result_.items) {
      tell(item, "The plates themselves would be sent back on any shirt (", item.plates_sent_back,
           "): see kirtle check.");
      tell(item, "Not held against it on other shirts, because it is so on its own: ", item.cautions_at_home,
           ".");
    }
    return told;
  }

  void next_page() {
    flow_.next_page();
    ++pages_;
  }

  void sentence(const std::string& text) {
    const double height = measure_text(text, small(7.5), flow_.width()).height_mm + 0.3;
    if (height > flow_.room()) next_page();
    flow_.page().text(fmt::format("note {}", ++notes_), flow_.box(height), text, small(7.5));
    flow_.down(height + 0.7);
  }

  void table() {
    std::vector<TableColumn> columns{
        {"Shirt", 41, TextAlign::left}, {"Take", 35, TextAlign::left},          {"", 21, TextAlign::left},
        {"Off", 19, TextAlign::right},  {"New screens", 20, TextAlign::centre}, {"Why", 50, TextAlign::left}};
    std::vector<std::vector<TableCell>> rows;
    for (const RangeVerdict verdict : {RangeVerdict::works, RangeVerdict::care, RangeVerdict::no}) {
      std::vector<const RangeItem*> items;
      for (const RangeItem& item : result_.items)
        if (best_line(item).figures.verdict == verdict) items.push_back(&item);
      std::stable_sort(items.begin(), items.end(), [](const RangeItem* a, const RangeItem* b) {
        return best_line(*a).figures.difference_mean < best_line(*b).figures.difference_mean;
      });
      for (const RangeItem* item : items) {
        const RangeLine& line = best_line(*item);
        const bool none = verdict == RangeVerdict::no;
        rows.push_back({{shirt_text(*item), {}, true},
                        {none ? "nothing that was tried" : line.called, {}, false},
                        {std::string(to_string(verdict)), {}, verdict == RangeVerdict::works},
                        {off_text(line.figures), {}, false},
                        {none ? "" : std::to_string(line.new_screens), {}, false},
                        {why_text(line.figures), {}, false}});
      }
    }
    TableStyle style;
    style.size_pt = 7.5;
    style.least_pt = 5.5;
    style.most_lines = 3;
    style.pad_mm = 0.5;
    for (std::size_t first = 0; first < rows.size();) {
      if (flow_.room() < 20) next_page();
      const TableFit fit = place_table(flow_.page(), fmt::format("take {}", first), flow_.box(flow_.room()),
                                       columns, rows, style, first);
      KIRTLE_CHECK(fit.rows, >, std::size_t{0});
      first += fit.rows;
      flow_.down(fit.height_mm);
      if (first < rows.size()) next_page();
    }
  }

  std::string shirt_text(const RangeItem& item) const {
    return (scenes_.size() > 1 ? scenes_[item.scene].title + " on " : std::string()) + item.shirt_name;
  }

  static std::string why_text(const RangeFigures& f) {
    std::string out;
    for (const RangeReason& reason : f.why) out += (out.empty() ? "" : "; ") + reason.brief;
    return out;
  }

  static std::string off_text(const RangeFigures& f) {
    return fmt::format("{:.1f} ({:.1f})", f.difference_mean, f.difference_p95);
  }

  /// Returns the number of the first page it makes.
  std::size_t pictures() {
    const std::vector<RangeEntry> entries = sorted_entries(result_);
    next_page();
    const std::size_t first_page = pages_ - 1;
    for (std::size_t from = 0; from < entries.size();) {
      const RangeVerdict verdict = entries[from].line->figures.verdict;
      const bool starts = from == 0 || entries[from - 1].line->figures.verdict != verdict;
      std::vector<Cell> row;
      double height = 0;
      while (row.size() < kColumns && from < entries.size() &&
             entries[from].line->figures.verdict == verdict) {
        row.push_back(cell_of(entries[from++]));
        height = std::max(height, row.back().height);
      }
      if (flow_.room() < height + (starts ? kHeading : 0)) next_page();
      if (starts) heading_of(verdict);
      for (std::size_t c = 0; c < row.size(); ++c)
        place(row[c], kPageMargin + static_cast<double>(c) * (kCell + kGutter), height);
      flow_.down(height + kGutter);
    }
    return first_page;
  }

  void heading_of(RangeVerdict verdict) {
    const char* word = verdict == RangeVerdict::works  ? "Works"
                       : verdict == RangeVerdict::care ? "With care"
                                                       : "Does not work";
    flow_.down(place_subheading(flow_.page(), flow_.box(kHeading - 1), word) + 1);
  }

  struct CellText {
    const char* name;
    std::string text;
    TextStyle style;
    double height;
  };
  struct Cell {
    RangeEntry entry;
    std::vector<CellText> texts;
    double height = 0;
  };

  Cell cell_of(const RangeEntry& e) const {
    const RangeFigures& f = e.line->figures;
    Cell out{e, {}, kPictureHeight + kTextGap};
    const auto put = [&](const char* name, const std::string& text, const TextStyle& style, double most) {
      const double height = std::min(most, measure_text(text, style, kCell).height_mm + 0.1);
      out.texts.push_back({name, text, style, height});
      out.height += height + kLineGap;
    };
    put("shirt", shirt_text(*e.item), one_line(7, true), kText);
    put("design", e.line->called, small(6.5), 2 * kText - 0.4);
    put("figures", fmt::format("off {}, {}", off_text(f), screens_text(*e.line)), one_line(6.5), kText);
    if (!f.why.empty()) put("why", f.why.front().brief, small(6), 2 * kText - 0.6);
    return out;
  }

  void place(const Cell& cell, double x, double height) {
    Page& page = flow_.page();
    const RangeFigures& f = cell.entry.line->figures;
    const double y = flow_.y();
    page.begin_group(fmt::format("cell {}", ++cells_), {x, y, kCell, height});
    if (f.width > 0) {
      const double scale = std::min(kCell / f.width, kPictureHeight / f.height);
      const double w = f.width * scale, h = f.height * scale;
      page.picture("print", {x + (kCell - w) / 2, y + kPictureHeight - h, w, h}, picture_of(f),
                   fmt::format("{}, {}", shirt_text(*cell.entry.item), cell.entry.line->called));
    }
    double at = y + kPictureHeight + kTextGap;
    for (const CellText& text : cell.texts) {
      page.text(text.name, {x, at, kCell, text.height}, text.text, text.style);
      at += text.height + kLineGap;
    }
    page.end_group();
  }

  const std::vector<Scene>& scenes_;
  const RangeResult& result_;
  PageFlow flow_;
  std::size_t pages_ = 1;
  int notes_ = 0;
  std::size_t cells_ = 0;
};

}  // namespace

ContactSheet contact_sheet(const std::vector<Scene>& scenes, const RangeResult& result) {
  KIRTLE_CHECK(result.items.size(), >, std::size_t{0});
  return Sheet(scenes, result).make();
}

}  // namespace kirtle
