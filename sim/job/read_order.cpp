#include "job/read_order.h"

#include "job/library.h"
#include "job/table_reader.h"

#include <algorithm>
#include <array>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

constexpr std::array<std::string_view, kShirtSizes> kSizeNames = {
    "YXS", "YS", "YM", "YL", "YXL", "XS", "S", "M", "L", "XL", "2XL", "3XL", "4XL", "5XL"};

const std::vector<std::pair<std::string, PrintLocation>> kLocations = {
    {"front", PrintLocation::front},
    {"back", PrintLocation::back},
    {"left chest", PrintLocation::left_chest},
    {"sleeve", PrintLocation::sleeve},
    {"nape", PrintLocation::nape}};

constexpr int kMostShirts = 100000;

/// A TOML date without time; empty if there is none.
std::string read_date(TableReader& t, std::string_view key) {
  const Value* v = t.find(key);
  if (v == nullptr) return {};
  if (v->kind == ValueKind::date && !v->text.empty()) return v->text;
  t.error(*v, t.name(key) + " is " + shown(*v) + "; it must be a date",
          "write it without quotes: 2026-11-25");
  return {};
}

/// Text that must be there and say something.
std::string read_filled(TableReader& t, std::string_view key, std::size_t most, const char* what) {
  const std::string out = t.text(key, Need::required, most).value_or("");
  const Value* v = t.find(key);
  if (v != nullptr && v->kind == ValueKind::text && v->text.find_first_not_of(" \t") == std::string::npos)
    t.error(*v, t.name(key) + " is empty; it must say " + what, "proof and ticket bear it");
  return out;
}

/// Folders of records that a scene names; what is wrong with the scene is told when it is read.
void add_data_of_scene(const fs::path& file, std::vector<fs::path>& folders) {
  Diagnostics told_later;
  const std::optional<Document> scene = read_document(file, told_later);
  if (!scene) return;
  TableReader root(*scene, scene->root, "", told_later);
  for (const std::string& folder : root.texts("data", 10))
    folders.push_back((file.parent_path() / folder).lexically_normal());
}

/// Shirts that no folder holds, told with the order's own faults.
void check_shirts_known(TableReader& root, const Order& order, const std::vector<fs::path>& more) {
  std::vector<fs::path> folders = more;
  folders.insert(folders.end(), order.data.begin(), order.data.end());
  for (const OrderPrint& print : order.prints)
    if (!print.scene.empty()) add_data_of_scene(print.scene, folders);
  folders.push_back(default_data_folder());
  Library library(std::move(folders));
  const std::vector<std::string> known = library.ids("shirts");
  for (const OrderShirts& shirts : order.shirts) {
    if (shirts.shirt.empty() || std::find(known.begin(), known.end(), shirts.shirt) != known.end()) continue;
    library.shirt(shirts.shirt, shirts.shirt_place, root.faults());
  }
}

void read_versions(TableReader& root, Order& order) {
  order.version = root.whole("version", 1, 999).value_or(1);
  order.replaces = root.whole("replaces", 1, 999).value_or(0);
  if (order.replaces >= order.version && order.replaces > 0) {
    root.error(*root.find("replaces"),
               "replaces is " + std::to_string(order.replaces) + " and version " +
                   std::to_string(order.version) + "; a proof replaces an earlier one",
               "raise version, or take replaces out");
  }
}

/// located: whether the place was understood.
OrderPrint read_print(TableReader& t, const fs::path& folder, bool& located) {
  OrderPrint print;
  print.place = t.place();
  const std::optional<PrintLocation> location = t.choice("location", kLocations, Need::required);
  located = location.has_value();
  print.location = location.value_or(PrintLocation::front);
  if (const auto scene = t.text("scene", Need::required, 1000)) {
    print.scene = (folder / *scene).lexically_normal();
    std::error_code code;
    if (!fs::is_regular_file(print.scene, code)) {
      t.error(*t.find("scene"), "there is no scene " + printable(print.scene.string()),
              "scene is a path seen from the order's own folder");
    }
  }
  if (const auto mm = t.quantity("width", Measure::length_mm, "", {10, 1000})) print.width = Mm{*mm};
  if (const auto mm = t.quantity("drop", Measure::length_mm, "", {0, 600})) print.drop = Mm{*mm};
  t.finish();
  return print;
}

OrderShirts read_shirts(TableReader& t) {
  OrderShirts shirts;
  shirts.place = t.place();
  shirts.shirt = t.id("shirt", Need::required).value_or("");
  shirts.shirt_place = t.has("shirt") ? t.place(*t.find("shirt")) : t.place();
  shirts.style = t.text("style", Need::optional, 100).value_or("");
  if (std::optional<TableReader> sizes = t.table("quantities", Need::required)) {
    for (int i = 0; i < kShirtSizes; ++i) {
      const auto n = sizes->whole(kSizeNames[static_cast<std::size_t>(i)], 0, kMostShirts);
      if (n && *n > 0) shirts.counts.push_back({static_cast<ShirtSize>(i), *n});
    }
    for (std::size_t xs = 2; xs <= 5; ++xs) {
      const std::string written = std::string(xs, 'X') + 'L';
      if (!sizes->has(written)) continue;
      sizes->error(*sizes->find(written), "unknown key \"" + sizes->name(written) + '"',
                   "write \"" + std::to_string(xs) + "XL\", in quotes");
    }
    if (shirts.counts.empty())
      sizes->error_here(t.name("quantities") + " names no size with shirts",
                        "for example { S = 12, M = 24 }");
    sizes->finish();
  }
  t.finish();
  return shirts;
}

void check_twice(TableReader& root, const Order& order, const std::vector<bool>& located) {
  for (std::size_t i = 0; i < order.shirts.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (order.shirts[i].shirt.empty() || order.shirts[i].shirt != order.shirts[j].shirt) continue;
      root.faults().error(order.shirts[i].place, "shirt \"" + order.shirts[i].shirt + "\" is ordered twice",
                          "put its sizes into one [[shirts]]");
    }
  }
  for (std::size_t i = 0; i < order.prints.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (!located[i] || !located[j] || order.prints[i].location != order.prints[j].location) continue;
      root.faults().error(
          order.prints[i].place,
          "there are two prints at \"" + std::string(to_string(order.prints[i].location)) + '"',
          "one order prints a place once");
    }
  }
}

Order order_of_scene(const fs::path& file) {
  Order order;
  order.file = file;
  order.is_scene = true;
  order.prints.push_back({PrintLocation::front, file, {}, {}, {file.string(), 0, 0}});
  return order;
}

}  // namespace

std::string_view to_string(PrintLocation location) {
  for (const auto& [word, value] : kLocations)
    if (value == location) return word;
  return "";
}

std::string_view to_string(ShirtSize size) { return kSizeNames[static_cast<std::size_t>(size)]; }

int OrderShirts::shirts() const {
  int n = 0;
  for (const SizeCount& c : counts) n += c.shirts;
  return n;
}

int Order::total() const {
  int n = 0;
  for (const OrderShirts& s : shirts) n += s.shirts();
  return n;
}

std::vector<SizeCount> Order::by_size() const {
  std::array<int, kShirtSizes> sum{};
  for (const OrderShirts& s : shirts)
    for (const SizeCount& c : s.counts) sum[static_cast<std::size_t>(c.size)] += c.shirts;
  std::vector<SizeCount> out;
  for (int i = 0; i < kShirtSizes; ++i) {
    const int n = sum[static_cast<std::size_t>(i)];
    if (n > 0) out.push_back({static_cast<ShirtSize>(i), n});
  }
  return out;
}

Order read_order(const fs::path& file, const std::vector<fs::path>& data) {
  Diagnostics faults;
  const std::optional<Document> document = read_document(file, faults);
  if (!document) throw InputError(std::move(faults));
  TableReader root(*document, document->root, "", faults);
  // A scene has plates; an order does not.
  if (root.has("plate")) return order_of_scene(file);

  Order order;
  order.file = file;
  read_schema(root);
  order.customer = read_filled(root, "customer", 200, "for whom the order is");
  order.number = read_filled(root, "order", 60, "the number or the name of the job");
  order.title = root.text("title", Need::optional, 200).value_or("");
  order.note = root.text("note", Need::optional, 600).value_or("");
  order.date = read_date(root, "date");
  order.due = read_date(root, "due");
  read_versions(root, order);
  const std::vector<std::pair<std::string, ScreenSets>> sets = {{"one", ScreenSets::one},
                                                                {"two", ScreenSets::two}};
  order.sets = root.choice("screen_sets", sets).value_or(ScreenSets::one);
  order.youth_discharge_agreed = root.text("youth_discharge_agreed", Need::optional, 200).value_or("");
  order.colours_may_shift.v =
      root.quantity("colours_may_shift", Measure::length_mm, "mm", {0, 10, true}).value_or(0.5);
  order.placement_may_shift.v =
      root.quantity("placement_may_shift", Measure::length_mm, "mm", {0, 100, true}).value_or(25);
  for (const std::string& folder : root.texts("data", 10)) {
    order.data.push_back((file.parent_path() / folder).lexically_normal());
    std::error_code code;
    if (!fs::is_directory(order.data.back(), code)) {
      root.error(*root.find("data"), "there is no folder " + printable(order.data.back().string()),
                 "data names folders of records, seen from the order's own folder");
    }
  }
  std::vector<bool> located;
  for (TableReader& t : root.tables("print", kMaxPrints)) {
    bool understood = false;
    order.prints.push_back(read_print(t, file.parent_path(), understood));
    located.push_back(understood);
  }
  for (TableReader& t : root.tables("shirts", kMaxShirtColours)) order.shirts.push_back(read_shirts(t));
  root.finish();
  if (order.prints.empty() && !root.has("print"))
    root.error_here("the order has no print", "add a [[print]] with location and scene");
  if (order.shirts.empty() && !root.has("shirts"))
    root.error_here("the order has no shirts", "add a [[shirts]] with shirt and quantities");
  check_twice(root, order, located);
  check_shirts_known(root, order, data);
  faults.throw_if_errors();
  order.notes = faults.all();
  return order;
}

}  // namespace kirtle
