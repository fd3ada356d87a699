#include "proof/press_ticket.h"

#include "base/check.h"
#include "job/press_plan.h"
#include "predict/ink_used.h"
#include "predict/swatch.h"
#include "proof/garment_panel.h"
#include "proof/proof_flow.h"
#include "proof/proof_words.h"
#include "proof/ticket_words.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

/// More empty heads than this share a line.
constexpr std::size_t kEmptyListed = 2;
/// Of the table on A4, mm; on narrower paper its columns shrink.
constexpr double kUsualWidth = 273;

class TicketPages {
 public:
  TicketPages(const Order& order, const TicketPrint& print, const std::string& checksum,
              const PaperSize& paper)
      : order_(order),
        print_(print),
        study_(print.study),
        checksum_(short_checksum(checksum)),
        flow_(paper.height_mm, paper.width_mm) {
    for (const SizeCount& c : print.sizes) shirts_ += c.shirts;
  }

  std::vector<Page> make() {
    heading();
    overview();
    heads();
    low_part();
    return flow_.take();
  }

 private:
  void heading() {
    std::vector<std::string> facts;
    std::string order = order_.number.empty() ? "" : "Order " + order_.number;
    if (!order_.due.empty()) order += (order.empty() ? "Due " : ", due ") + order_.due;
    if (!order.empty()) facts.push_back(order);
    facts.push_back(fmt::format("Proof version {}, {}", order_.version, checksum_));
    facts.push_back("Press: " + study_.scene.press.preset.name +
                    (study_.scene.press.named ? "" : " (assumed)"));
    std::string title = "Press ticket: " + (order_.title.empty() ? study_.scene.title : order_.title);
    std::string below =
        order_.title.empty() ? location_heading(study_.print.location) : print_title(order_, study_);
    if (!print_.set.empty()) below += ", " + print_.set;
    if (!order_.customer.empty()) below += ", for " + order_.customer;
    flow_.down(place_heading(flow_.page(), flow_.box(17), title, below, facts) + 2);
  }

  void overview() {
    constexpr double kHeight = 37, kShirt = 40;
    Page& page = flow_.page();
    const double y = flow_.y();
    PanelShirt s;
    s.size = print_.sizes.empty() ? ShirtSize::l : print_.sizes[print_.sizes.size() / 2].size;
    s.print_width_mm = study_.width_mm;
    s.drop_mm = drop_mm(study_.print, s.size);
    place_garments(page, "composite", {flow_.x(), y, kShirt, kHeight - 1}, study_, 0, {s}, false);
    const double facts_x = flow_.x() + kShirt + 4, facts_width = 118;
    const double facts_height = place_facts({facts_x, y, facts_width, flow_.room()});
    place_plates({facts_x + facts_width + 4, y, flow_.width() - kShirt - facts_width - 8, kHeight - 1});
    flow_.down(std::max(kHeight, facts_height) + 0.6);
    shirts_and_note();
  }

  /// Smallest and largest of this set.
  ExtremeSizes sizes_here() const {
    if (print_.sizes.empty()) return {};
    return {print_.sizes.front().size, print_.sizes.back().size, false};
  }

  static TableStyle facts_style() {
    TableStyle style;
    style.size_pt = 11;
    style.least_pt = 7;
    style.pad_mm = 0.55;
    return style;
  }

  /// A table across the page, on to further pages where it needs them; gap: below it, mm.
  void place_rows(const std::string& name, const std::vector<TableColumn>& columns,
                  const std::vector<std::vector<TableCell>>& rows, const TableStyle& style, double gap) {
    std::size_t done = 0;
    while (done < rows.size()) {
      const TableFit fit =
          place_table(flow_.page(), name, flow_.box(flow_.room()), columns, rows, style, done);
      done += fit.rows;
      flow_.down(fit.height_mm + gap);
      if (done < rows.size()) {
        flow_.next_page();
        heading();
      }
    }
  }

  /// Across the page: both may be long, and neither may be cut.
  void shirts_and_note() {
    std::string colours;
    for (const ShirtStudy& shirt : study_.shirts) {
      colours += (colours.empty() ? "" : "; ") + shirt.name;
      if (!shirt.style.empty()) colours += ", " + shirt.style;
      if (study_.shirts.size() > 1 && shirt.ordered > 0) colours += fmt::format(" ({})", shirt.ordered);
    }
    std::vector<std::vector<TableCell>> rows{{{"Shirts"}, {colours, {}, true}}};
    if (!order_.note.empty()) rows.push_back({{"Note"}, {order_.note}});
    TableStyle style = facts_style();
    style.most_lines = 24;
    place_rows("order", {{"", 19}, {"", flow_.width() - 19}}, rows, style, 1);
  }

  /// What the film output has to do beside the curve, where the order asks for another width than the
  /// plates'.
  std::string scale_text() const {
    if (std::abs(study_.plate_scale - 1) < 1e-4) return {};
    return fmt::format(", output at {:.1f} % of its size", 100 * study_.plate_scale);
  }

  /// Returns the height used, mm.
  double place_facts(const PageBox& box) {
    std::string sizes;
    for (const SizeCount& c : print_.sizes)
      sizes += fmt::format("{}{}\u00a0{}", sizes.empty() ? "" : "   ", to_string(c.size), c.shirts);
    const PressPreset& press = study_.scene.press.preset;
    std::string pallet =
        press.pallet_width.v > 0
            ? fmt::format("press has {:.0f} x {:.0f} in ({:.0f} x {:.0f} mm)",
                          press.pallet_width.v / kMmPerInch, press.pallet_height.v / kMmPerInch,
                          press.pallet_width.v, press.pallet_height.v)
            : "";
    const std::vector<std::vector<TableCell>> rows = {
        {{"Quantity"}, {shirts_ > 0 ? fmt::format("{}     {}", shirts_, sizes) : "not given", {}, true}},
        {{"Place"},
         {fmt::format("{}, {}", to_string(study_.print.location), drop_text(study_.print, sizes_here())),
          {},
          true}},
        {{"Print"},
         {fmt::format("{} x {}", both_units(study_.width_mm), both_units(study_.height_mm)), {}, true}},
        {{"Pallet"}, {pallet}},
        {{"Film"},
         {(one_curve() ? curve_text(study_.scene.passes.front().curve) : "curve: see each head") +
          scale_text()}}};
    TableStyle style = facts_style();
    style.most_lines = 4;
    const TableFit fit =
        place_table(flow_.page(), "facts", box, {{"", 19}, {"", box.width - 19}}, rows, style);
    KIRTLE_CHECK(fit.rows, ==, rows.size());
    return fit.height_mm;
  }

  void place_plates(const PageBox& box) {
    const std::size_t n = study_.plates.size(), across = n <= 3 ? n : (n + 1) / 2, down = n <= 3 ? 1 : 2;
    const double cell_w = box.width / static_cast<double>(across),
                 cell_h = box.height / static_cast<double>(down);
    TextStyle small;
    small.size_pt = 8;
    small.least_pt = 5.5;
    small.align = TextAlign::centre;
    small.wrap = false;
    for (std::size_t i = 0; i < n; ++i) {
      const PagePicture& plate = study_.plates[i];
      const double x = box.x + static_cast<double>(i % across) * cell_w,
                   y = box.y + static_cast<double>(i / across) * cell_h;
      const double scale = std::min((cell_w - 2) / plate.width, (cell_h - 5) / plate.height);
      const PageBox at{x + (cell_w - plate.width * scale) / 2, y, plate.width * scale, plate.height * scale};
      flow_.page().picture("plate " + std::to_string(i), at, std::make_shared<PagePicture>(plate),
                           "Plate " + study_.inks[i].plate);
      flow_.page().frame("plate frame", at, 0.12, {0.6, 0.6, 0.6});
      flow_.page().text("plate name", {x + 0.5, y + cell_h - 4.6, cell_w - 1, 4.2}, study_.inks[i].plate,
                        small);
    }
  }

  /// All films have their curve at one place.
  bool one_curve() const {
    const std::vector<ScenePass>& passes = study_.scene.passes;
    return std::all_of(passes.begin(), passes.end(),
                       [&](const ScenePass& p) { return p.curve == passes.front().curve; });
  }

  std::vector<TableCell> ink_row(const std::string& head, int pass_index, const std::string& also) const {
    const ScenePass& pass = study_.scene.passes[static_cast<std::size_t>(pass_index)];
    const PassStudy& numbers = study_.passes[static_cast<std::size_t>(pass_index)];
    const ScenePlate& plate = study_.scene.plates[static_cast<std::size_t>(pass.plate)];
    std::string after = pass.flash_after                                                 ? "flash"
                        : pass_index + 1 == static_cast<int>(study_.scene.passes.size()) ? "to dryer"
                                                                                         : "wet";
    if (!also.empty()) after += ", " + also;
    const int shirts = shirts_ > 0 ? shirts_ : 100;
    return {{head, {}, true},
            {plate.name, {}, true},
            {pass.ink.name + (pass.ink.effect == InkEffect::none ? "" : " (not predicted)")},
            {mesh_text(pass.mesh)},
            {fmt::format("{:g} lpi {:g}\u00b0{}", pass.halftone.lpi, pass.halftone.angle_deg,
                         one_curve() ? "" : ", " + curve_text(pass.curve))},
            {""},
            {""},
            {std::to_string(pass.strokes)},
            {after},
            {grams_text(numbers.grams_a_shirt)},
            {mix_text(ink_to_mix(numbers.grams_a_shirt, shirts))}};
  }

  std::vector<std::vector<TableCell>> head_rows() {
    std::vector<std::vector<TableCell>> rows;
    const PlacedPasses placed = place_scene(study_.scene);
    if (!placed.plan) {
      for (int i = 0; i < static_cast<int>(study_.scene.passes.size()); ++i)
        rows.push_back(ink_row("?", i, ""));
      notes_.push_back("The passes do not fit the assumed press: heads are open.");
      return rows;
    }
    const PressPlan& plan = *placed.plan;
    const auto swings = [&](int pass) {  // a flash or a wait on the pallet, without a head
      return std::any_of(plan.steps.begin(), plan.steps.end(), [&](const PressStep& s) {
        return s.head == 0 && s.pass == pass && s.use == StationUse::flash;
      });
    };
    for (std::size_t h = 0; h < plan.heads.size(); ++h) {
      const HeadPlan& head = plan.heads[h];
      const std::string number = std::to_string(h + 1);
      switch (head.use) {
        case StationUse::ink:
          for (std::size_t r = 0; r < head.pass.size(); ++r) {
            if (head.pass[r] < 0) continue;
            const std::string round = plan.revolutions > 1 ? fmt::format(" (round {})", r + 1) : "";
            rows.push_back(ink_row(number + round, head.pass[r], swings(head.pass[r]) ? "swung in" : ""));
          }
          break;
        case StationUse::flash:
          rows.push_back({{number, {}, true}, {"FLASH", {}, true}, {"by the data sheet"}});
          break;
        case StationUse::cool_down:
          rows.push_back({{number, {}, true}, {"COOL", {}, true}, {"empty"}});
          break;
        case StationUse::empty: {
          const std::size_t last = plan.heads.size();
          if (last - h > kEmptyListed) {  // the empty ones come last
            rows.push_back({{fmt::format("{}-{}", h + 1, last), {}, true}, {"empty"}});
            return rows;
          }
          rows.push_back({{number, {}, true}, {"empty"}});
          break;
        }
      }
    }
    return rows;
  }

  void heads() {
    const double w = flow_.width();
    std::vector<TableColumn> columns{
        {"head", 13},
        {"screen", 34},
        {"ink (formula: write in)", 0},
        {"mesh", 33},
        {"film", 34},
        {"screen ID", 22},
        {"squeegee", 23},
        {"strokes", 15, TextAlign::centre},
        {"then", 19},
        {"a shirt", 17, TextAlign::right},
        {shirts_ > 0 ? fmt::format("mix for {}", shirts_) : "mix for 100", 25, TextAlign::right}};
    double used = 0;
    for (TableColumn& c : columns) used += c.width_mm *= std::min(1.0, w / kUsualWidth);
    columns[2].width_mm = w - used;
    TableStyle style;
    style.size_pt = 11;
    style.least_pt = 7;
    style.title_pt = 8;
    style.pad_mm = 0.7;
    style.most_lines = 1;
    style.least_row_mm = 6.6;
    place_rows("heads", columns, head_rows(), style, 2);
  }

  std::vector<std::string> cautions() const {
    std::vector<std::string> out = notes_;
    const bool discharges =
        std::any_of(study_.inks.begin(), study_.inks.end(), [](const InkStudy& i) { return i.discharges; });
    if (discharges)
      out.push_back(
          "Discharge ink gives off formaldehyde and sulphur compounds in the dryer and over the open pot. "
          "Ventilate, gloves, eye wear; pot life and cure by the supplier's safety data sheet and local "
          "rules.");
    if (!order_.youth_discharge_agreed.empty() && discharges)
      out.push_back("Youth sizes with discharge: " + order_.youth_discharge_agreed);
    out.push_back(
        "Flash, dryer and off-contact: set by the ink's data sheet, not by this page; write in what was set. "
        "Under-cured ink washes out and is not fit for skin. Flash and dryer are hot: burns.");
    if (shirts_ == 0) out.push_back("No quantity given: ask. Ink to mix is for 100 shirts.");
    return out;
  }

  void low_part() {
    const double w = flow_.width(), left = 0.52 * w, right = w - left - 6;
    const std::vector<std::string> watch = watch_texts(study_), care = cautions();
    constexpr double kWatchSize = 10.5, kCareSize = 8.5, kBlanks = 19;
    double height =
        5.4 + std::max(sentences_height(watch, left, kWatchSize), sentences_height(care, right, kCareSize));
    if (flow_.room() < height + kBlanks && flow_.room() > 24 + kBlanks) height = flow_.room() - kBlanks;
    if (flow_.need(height + kBlanks)) heading();
    Page& page = flow_.page();
    const double y = flow_.y();
    place_subheading(page, {flow_.x(), y, left, 6},
                     fmt::format("Look here first (two plates part by up to {:.2f} mm)", study_.quoted_mm));
    place_sentences(page, "watch", {flow_.x(), y + 5.4, left, height - 5.4}, watch, false, kWatchSize);
    place_subheading(page, {flow_.x() + left + 6, y, right, 6}, "Care");
    place_sentences(page, "care", {flow_.x() + left + 6, y + 5.4, right, height - 5.4}, care, false,
                    kCareSize);
    flow_.down(height + 1);
    blanks(flow_.box(kBlanks - 2));
    flow_.down(kBlanks - 2);
  }

  void blanks(const PageBox& box) {
    Page& page = flow_.page();
    const std::string dryer = dryer_text(study_.scene);
    const std::vector<std::string> first{"Off-contact", "Flash",
                                         dryer.empty() ? "Dryer" : "Dryer (" + dryer + ")"},
        second{"Printed", "Spoiled", "By", "Date"};
    const double row = box.height / 2;
    double x = box.x;
    const double step = box.width / 4;
    for (std::size_t i = 0; i < first.size(); ++i) {
      const double width = (i == 2 ? 1.6 : 0.7) * step;
      place_blank(page, first[i], {x, box.y, width - 3, row - 1}, first[i], 10);
      x += width;
    }
    const std::vector<std::string> checks{"stretch ok", "wash ok", "dye lot ok"};
    const double tick = (box.right() - x) / 3;
    for (const std::string& check : checks) {
      place_tick(page, check, {x, box.y + 1, tick - 1, row - 1}, check, 9.5);
      x += tick;
    }
    for (std::size_t i = 0; i < second.size(); ++i)
      place_blank(page, second[i], {box.x + static_cast<double>(i) * step, box.y + row, step - 3, row - 1},
                  second[i], 10);
  }

  const Order& order_;
  const TicketPrint& print_;
  const PrintStudy& study_;
  std::string checksum_;
  int shirts_ = 0;
  std::vector<std::string> notes_;
  PageFlow flow_;
};

}  // namespace

PageDocument press_ticket(const Order& order, const std::vector<TicketPrint>& prints,
                          const std::string& checksum, const ProofSettings& settings) {
  KIRTLE_CHECK(prints.size(), >, std::size_t{0});
  PageDocument out;
  const std::string title = order.title.empty() ? prints.front().study.scene.title : order.title;
  out.title = "Press ticket: " + title;
  out.subject = order.number.empty() ? "Press ticket" : "Press ticket, order " + order.number;
  out.keywords = "checksum " + checksum;
  out.date = order.date;
  for (const TicketPrint& print : prints) {
    TicketPages pages(order, print, checksum, settings.paper);
    for (Page& page : pages.make()) out.pages.push_back(std::move(page));
  }
  number_pages(out.pages,
               "Ink to mix: shirts x grams plus 10 %, and 150 to 250 g to fill a screen (common practice, "
               "no source)",
               kPageMargin);
  return out;
}

}  // namespace kirtle
