#include "cmd/proof_options.h"

#include "cmd/say.h"
#include "job/own_files.h"
#include "job/quantity.h"
#include "job/read_scene.h"
#include "proof/customer_proof.h"

#include <fmt/format.h>

namespace kirtle {

namespace {

PaperSize paper_from(const std::string& text) {
  if (text == "a4") return kA4;
  if (text == "letter") return kLetter;
  const auto wrong = [&](const std::string& what) {
    return InputError(
        {}, fmt::format("--paper {}: {}", printable(text), what),
        fmt::format("write a4, letter, or WIDTHxHEIGHT with units, {:g}x{:g} to {:g}x{:g} mm, standing: for "
                    "example 297mmx420mm",
                    kLeastPaper.width_mm, kLeastPaper.height_mm, kMostPaper.width_mm, kMostPaper.height_mm));
  };
  const std::size_t cross = text.find('x');
  if (cross == std::string::npos) throw wrong("this is no paper size");
  const auto width = quantity_from(text.substr(0, cross), Measure::length_mm);
  const auto height = quantity_from(text.substr(cross + 1), Measure::length_mm);
  if (!width || !height) throw wrong("these are not two lengths");
  const PaperSize paper{*width, *height};
  if (!(paper.width_mm >= kLeastPaper.width_mm && paper.width_mm <= kMostPaper.width_mm &&
        paper.height_mm >= kLeastPaper.height_mm && paper.height_mm <= kMostPaper.height_mm &&
        paper.height_mm >= paper.width_mm)) {
    throw wrong(fmt::format("{:.0f} x {:.0f} mm is not a size that the pages are laid out for",
                            paper.width_mm, paper.height_mm));
  }
  return paper;
}

/// The order's own file and those of its scenes.
std::vector<std::filesystem::path> files_of(const Order& order, const StudySettings& settings) {
  std::vector<std::filesystem::path> out{order.file};
  SceneOptions options;
  options.data_folders = settings.data;
  options.data_folders.insert(options.data_folders.end(), order.data.begin(), order.data.end());
  for (const OrderPrint& print : order.prints) {
    try {
      for (std::filesystem::path& file : own_files(read_scene(print.scene, options)))
        out.push_back(std::move(file));
    } catch (const InputError&) {
      out.push_back(print.scene);  // what is wrong with it is told with the faults of the others
    }
  }
  return out;
}

}  // namespace

void ProofArguments::add_to(CLI::App& c) {
  c.add_option("ORDER", order, "Order file or scene (docs/formats.md)")->required();
  c.add_option("-o,--output", output, "PDF to write")->required();
  c.add_option("--png", png, "Also pictures of the pages: this name with -1.png, -2.png");
  c.add_option("--dpi", dpi, "Of those pictures")->check(within(20, 600))->capture_default_str();
  c.add_option("--paper", paper, "a4, letter, or WIDTHxHEIGHT with units")->capture_default_str();
  c.add_option("--light", light, "Light to predict under (scene: [view] light)");
  c.add_option("--data", data, "Further folder of inks, shirts, meshes; may be given more than once")
      ->allow_extra_args(false);
  c.add_option("--threads", threads, "Threads to use; the pages do not depend on it")
      ->check(CLI::Range(1u, 256u));
  c.add_flag("--quiet", quiet, "Print nothing but errors and warnings");
}

ProofJob ProofArguments::read() const {
  ProofJob job;
  job.paper = paper_from(paper);
  check_ending(output, {".pdf"});
  job.order = read_order(order, study_settings().data);
  print_notes(job.order.notes, quiet);
  job.own = files_of(job.order, study_settings());
  return job;
}

StudySettings ProofArguments::study_settings() const {
  StudySettings settings;
  if (light) settings.light = light_spelt(*light);
  settings.threads = threads;
  for (const std::string& folder : data) settings.data.emplace_back(folder);
  return settings;
}

std::string ProofArguments::png_page(std::size_t i) const { return fmt::format("{}-{}.png", *png, i + 1); }

void ProofArguments::spare_own_files(const ProofJob& job, std::size_t pages,
                                     const std::vector<std::string>& more) const {
  std::vector<std::filesystem::path> targets{output};
  for (std::size_t i = 0; png && i < pages; ++i) targets.emplace_back(png_page(i));
  targets.insert(targets.end(), more.begin(), more.end());
  refuse_own_files(job.own, targets, "the pages are");
}

void ProofArguments::write(const PageDocument& document) const {
  write_pdf(document, output);
  if (!quiet) say("{}: {} page{}\n", output, document.pages.size(), document.pages.size() == 1 ? "" : "s");
  for (std::size_t i = 0; png && i < document.pages.size(); ++i) {
    write_page_png(document.pages[i], png_page(i), dpi, document.title);
    if (!quiet) say("{}\n", png_page(i));
  }
}

}  // namespace kirtle
