#pragma once
// Orders and scenes made up for one test: plates drawn by code, in a folder that goes away.
#include "job/files.h"
#include "plate/io/write_picture.h"
#include "proof/customer_proof.h"
#include "proof/press_ticket.h"

#include <cstdint>
#include <functional>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle::test {

struct InkText {
  std::string plate, ink, more = {}, customer = {};
};

class Orders : public ::testing::Test {
 protected:
  /// Film coverage 0..1, black = ink.
  void plate(const std::string& name, int width, int height, double ppi,
             const std::function<double(int x, int y)>& film) const {
    std::vector<std::uint8_t> grey;
    for (int y = 0; y < height; ++y)
      for (int x = 0; x < width; ++x) grey.push_back(static_cast<std::uint8_t>(255.5 - 255 * film(x, y)));
    write_grey_png(folder_.path() / name, width, height, ppi, grey);
  }

  /// Plates of one scene at 50 per inch, of so many inches: plate i is solid in its upright stripe, and the
  /// first under all. Returns the scene's file.
  std::filesystem::path scene(const std::string& name, const std::string& shirt,
                              const std::vector<InkText>& inks, double width_in, double height_in,
                              const std::string& more = {}, const std::string& title = "Stripes") const {
    constexpr double kPpi = 50;
    const int w = static_cast<int>(std::lround(width_in * kPpi)),
              h = static_cast<int>(std::lround(height_in * kPpi));
    std::string text = "schema = 1\ntitle = '''" + title + "'''\nshirt = \"" + shirt + "\"\n" + more + "\n";
    const int n = static_cast<int>(inks.size());
    for (int i = 0; i < n; ++i) {
      const std::string file = name + "-" + std::to_string(i) + ".png";
      plate(file, w, h, kPpi, [&](int x, int) { return i == 0 || x * n / w == i ? 1.0 : 0.0; });
      text += "[[plate]]\nname = \"" + inks[static_cast<std::size_t>(i)].plate + "\"\nfile = \"" + file +
              "\"\nink_is = \"dark\"\nink = \"" + inks[static_cast<std::size_t>(i)].ink +
              "\"\nmesh = \"61-64\"\n" + inks[static_cast<std::size_t>(i)].more + "\n";
      if (!inks[static_cast<std::size_t>(i)].customer.empty())
        text += "customer_ink = '''" + inks[static_cast<std::size_t>(i)].customer + "'''\n";
    }
    return folder_.write(name + ".toml", text);
  }

  Order order(const std::string& text) const { return read_order(folder_.write("order.toml", text)); }

  std::vector<std::string> faults(const std::string& text) const {
    try {
      order(text);
    } catch (const InputError& e) {
      return lines_of(e.diagnostics(), folder_);
    }
    return {};
  }

  struct Made {
    std::vector<PrintStudy> studies;
    PageDocument proof, ticket;
  };
  static Made made(const Order& order, const ProofSettings& settings = {}) {
    Diagnostics notes;
    StudySettings study;
    study.watch = true;
    Made out;
    out.studies = study_prints(order, study, notes);
    const std::string checksum = checksum_of(order, out.studies);
    out.proof = customer_proof(order, out.studies, checksum, settings);
    std::vector<TicketPrint> prints;
    for (const PrintStudy& s : out.studies) prints.push_back({s, order.by_size(), {}});
    out.ticket = press_ticket(order, prints, checksum, settings);
    return out;
  }

  /// Everything that is written on the pages, a line an item.
  static std::string words_of(const PageDocument& document) {
    std::string out;
    for (const Page& page : document.pages)
      for (const PlacedItem& item : page.items())
        if (const auto* text = std::get_if<TextItem>(&item.what)) out += text->text + '\n';
    return out;
  }

  static void expect_laid_out(const PageDocument& document) {
    for (std::size_t i = 0; i < document.pages.size(); ++i) {
      EXPECT_THAT(layout_faults(document.pages[i]), ::testing::IsEmpty())
          << document.title << ", page " << i + 1;
      for (const PlacedItem& item : document.pages[i].items())
        EXPECT_EQ(item.glyphs_not_in_font, 0) << item.name;
    }
  }

  const TempFolder folder_;
};

inline const std::vector<InkText> kThreeInks{
    {"base", "base-white", "flash = true"}, {"red", "red"}, {"blue", "royal-blue"}};

}  // namespace kirtle::test
