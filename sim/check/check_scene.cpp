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

CheckReport check_scene(const Scene& scene, const CheckSettings& settings) {
  CheckReport out;
  const PrintModel model(scene);
  std::vector<int> which;
  for (const PrintingPlate& plate : model.plates) which.push_back(plate.scene_plate);
  const PlateSet plates = read_plate_set(scene, which, out.notes);
  const check::Facts facts = check::gather(scene, settings, model, plates);
  out.plates = static_cast<int>(facts.plates.size());
  out.ppi = facts.ppi;
  out.width_px = plates.images.front().width;
  out.height_px = plates.images.front().height;
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

}  // namespace kirtle
