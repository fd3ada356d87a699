#include "check/check_scene.h"

#include "check/find.h"

#include <algorithm>
#include <map>

namespace kirtle {

std::string_view to_string(FindingSeverity severity) {
  switch (severity) {
    case FindingSeverity::sent_back:
      return "sent back";
    case FindingSeverity::caution:
      return "caution";
    case FindingSeverity::advice:
      return "advice";
  }
  return "";
}

bool CheckReport::sent_back() const {
  return std::any_of(findings.begin(), findings.end(),
                     [](const Finding& f) { return f.severity == FindingSeverity::sent_back; });
}

namespace {

CheckReport report_of(const check::Facts& facts) {
  CheckReport out;
  out.plates = static_cast<int>(facts.plates.size());
  out.ppi = facts.ppi;
  out.width_px = facts.plates.front().image->width;
  out.height_px = facts.plates.front().image->height;
  const std::span<const check::FindingKind> kinds = check::finding_kinds();
  out.kinds = kinds.size();
  // Rank: severity, then whether a worse one of its kind stands before it, then the table.
  struct Ranked {
    FindingSeverity severity;
    std::size_t repeat;
    Finding finding;
  };
  std::vector<Ranked> ranked;
  for (const check::FindingKind& kind : kinds) {
    std::vector<Finding> found = kind.find(facts);
    std::stable_sort(found.begin(), found.end(), [](const Finding& a, const Finding& b) {
      return a.severity != b.severity ? a.severity < b.severity : a.weight > b.weight;
    });
    std::map<FindingSeverity, std::size_t> so_far;
    for (Finding& f : found) {
      f.kind = kind.id;
      const FindingSeverity severity = f.severity;
      ranked.push_back({severity, so_far[severity]++, std::move(f)});
    }
  }
  std::stable_sort(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) {
    return a.severity != b.severity ? a.severity < b.severity : a.repeat < b.repeat;
  });
  for (Ranked& r : ranked) out.findings.push_back(std::move(r.finding));
  return out;
}

}  // namespace

CheckReport check_scene(const Scene& scene, const CheckSettings& settings) {
  Diagnostics notes;
  const PrintModel model(scene);
  const std::shared_ptr<const PlateSet> plates = read_printing_plates(scene, notes);
  std::vector<const PlateImage*> images;
  for (const PlateImage& image : plates->images) images.push_back(&image);
  CheckReport out = report_of(check::gather(scene, settings, model, images, plates->ppi));
  out.notes = std::move(notes);
  return out;
}

namespace {

std::vector<const PlateImage*> pointers(const SharedImages& images) {
  std::vector<const PlateImage*> out;
  for (const std::shared_ptr<const PlateImage>& image : images) out.push_back(image.get());
  return out;
}

}  // namespace

PlateCheck::PlateCheck(const Scene& scene, SharedImages images, double ppi, const CheckSettings& settings,
                       const PlateCheck* known)
    : scene_(scene),
      settings_(settings),
      images_(std::move(images)),
      ppi_(ppi),
      model_(scene_),
      facts_(std::make_unique<check::Facts>(check::gather(scene_, settings_, model_, pointers(images_), ppi_,
                                                          known ? known->facts_.get() : nullptr))) {}

PlateCheck::~PlateCheck() = default;

CheckReport PlateCheck::on(const Scene& scene, const PrintModel& model) const {
  return report_of(check::gather(scene, settings_, model, pointers(images_), ppi_, facts_.get()));
}

std::vector<int> PlateCheck::bases() const {
  std::vector<int> out;
  for (std::size_t i = 0; i < facts_->plates.size(); ++i)
    if (facts_->plates[i].base) out.push_back(model_.plates[i].scene_plate);
  return out;
}

}  // namespace kirtle
