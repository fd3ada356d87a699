#include "intake/draft.h"

#include "light/srgb.h"
#include "predict/swatch.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <map>

namespace kirtle {

namespace {

std::vector<KnownInk> known_inks(Library& library, Diagnostics& faults) {
  std::vector<KnownInk> out;
  for (const Ink& ink : library.all_inks(faults)) out.push_back({ink.id, ink.name});
  return out;
}

/// Luminance of an ink over white, 0..1: light before dark.
double lightness_of(const Ink& ink) {
  const std::optional<Rgb8> rgb = rgb8_from_hex(ink_swatch(ink).over_white_hex);
  if (!rgb) return 0;
  const auto linear = [](std::uint8_t v) { return std::pow(v / 255.0, 2.2); };
  return 0.2126 * linear((*rgb)[0]) + 0.7152 * linear((*rgb)[1]) + 0.0722 * linear((*rgb)[2]);
}

/// As scenes allow it: without "=" and ",", at most 60 characters, no two alike.
std::string scene_name(std::string name, const std::vector<DraftPlate>& taken) {
  const bool legible = is_utf8(name);
  for (char& c : name) {
    if (!legible && static_cast<unsigned char>(c) >= 0x80) c = '?';
    if (c == '=' || c == ',' || static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
  }
  while (name.size() > 54) {
    // Whole characters of UTF-8 only.
    while (name.size() > 1 && (static_cast<unsigned char>(name.back()) & 0xC0) == 0x80) name.pop_back();
    name.pop_back();
  }
  while (!name.empty() && name.back() == ' ') name.pop_back();
  name.erase(0, name.find_first_not_of(' '));
  if (name.empty()) name = "plate";
  const auto is_taken = [&](const std::string& n) {
    return std::any_of(taken.begin(), taken.end(), [&](const DraftPlate& p) { return p.name == n; });
  };
  std::string out = name;
  for (int i = 2; is_taken(out); ++i) out = fmt::format("{} {}", name, i);
  return out;
}

/// What the names of plates from several files all start with, up to a space, "-" or "_".
std::size_t common_start(const std::vector<const SurveyedPlate*>& plates) {
  if (plates.size() < 2) return 0;
  const std::string& first = plates.front()->entry.name;
  std::size_t n = first.size();
  for (const SurveyedPlate* p : plates) {
    if (p->entry.name_in_file || p->in_file > 1) return 0;
    const std::string& name = p->entry.name;
    std::size_t same = 0;
    while (same < std::min(n, name.size()) && name[same] == first[same]) ++same;
    n = same;
  }
  while (n > 0 && first[n - 1] != ' ' && first[n - 1] != '-' && first[n - 1] != '_') --n;
  const bool leaves_all = std::all_of(plates.begin(), plates.end(),
                                      [&](const SurveyedPlate* p) { return p->entry.name.size() > n; });
  return leaves_all ? n : 0;
}

class Drafter {
 public:
  Drafter(const DraftWishes& wishes, Library& library) : wishes_(wishes), library_(library) {
    inks_ = known_inks(library, faults_);
  }

  SceneDraft run(const Survey& survey, std::string title) {
    draft_.title = std::move(title);
    take_plates(survey);
    check_set();
    settle_polarity();
    settle_roles();
    settle_whites();
    settle_shirt_and_press();
    settle_inks();
    settle_order();
    ask_about_the_rest();
    faults_.throw_if_errors();
    return std::move(draft_);
  }

 private:
  void ask(std::string question, std::string change) {
    draft_.questions.push_back({std::move(question), std::move(change)});
  }
  static std::string in_table(const DraftPlate& p) {
    return fmt::format("in [[plate]] \"{}\"", printable(p.name));
  }
  bool prints(const DraftPlate& p) const { return p.role == PlateRole::print; }

  void take_plates(const Survey& survey) {
    std::vector<const SurveyedPlate*> taken;
    for (const SurveyedPlate& s : survey.plates) {
      if (!s.entry.composite) {
        taken.push_back(&s);
        continue;
      }
      draft_.assumed.push_back(
          fmt::format("{}: the picture beside the spot samples is a preview of them and was "
                      "left out",
                      printable(s.entry.file.string())));
    }
    if (taken.empty())
      throw InputError({}, "no file holds a plate", "name the files that the art department exported");
    if (taken.size() > kMaxPlates) {
      throw InputError({},
                       fmt::format("the files hold {} plates; a scene has 1 to {}", taken.size(), kMaxPlates),
                       "name the files of one print alone");
    }
    const std::size_t start = common_start(taken);
    for (const SurveyedPlate* s : taken) {
      if (!is_utf8(s->entry.file.string())) {
        faults_.error({s->entry.file.string(), 0, 0},
                      "the file's path is not UTF-8, and a scene cannot name it", "rename the file");
      }
      DraftPlate p;
      p.survey = *s;
      p.name = scene_name(s->entry.name.substr(start), draft_.plates);
      p.polarity = s->polarity;
      p.coverage = s->holdings ? s->holdings->coverage : 0;
      draft_.plates.push_back(std::move(p));
    }
    for (const auto& [plate, ink] : wishes_.inks) {
      if (std::any_of(draft_.plates.begin(), draft_.plates.end(),
                      [&name = plate](const DraftPlate& p) { return p.name == name; }))
        continue;
      std::vector<std::string> names;
      for (const DraftPlate& p : draft_.plates) names.push_back(printable(p.name));
      faults_.error(
          {}, fmt::format("--ink names the plate \"{}\", which is not among the files", printable(plate)),
          fmt::format("plates found: {}", fmt::join(names, ", ")));
    }
  }

  void check_set() {
    const PlateEntry& first = draft_.plates.front().survey.entry;
    double ppi = wishes_.ppi.value_or(0);
    draft_.ppi = ppi;
    for (const DraftPlate& p : draft_.plates) {
      const PlateEntry& e = p.survey.entry;
      const Place place{e.file.string(), 0, 0};
      if (e.width != first.width || e.height != first.height) {
        faults_.error(
            place,
            fmt::format("plate \"{}\" is {} x {} pixels, but plate \"{}\" is {} x {}; the plates of one set "
                        "must have the same size",
                        printable(p.name), e.width, e.height, printable(draft_.plates.front().name),
                        first.width, first.height),
            "export all plates from the same document at the same size, or name those of one print alone");
      }
      if (wishes_.ppi || e.ppi == 0) continue;
      if (ppi == 0) ppi = e.ppi;
      if (std::abs(ppi - e.ppi) > 0.01 * ppi) {
        faults_.error(
            place,
            fmt::format("plate \"{}\" says {:.4g} pixels per inch, but an earlier plate of the set says "
                        "{:.4g}",
                        printable(p.name), e.ppi, ppi),
            "give --ppi N, the resolution at print size");
      }
    }
    draft_.ppi_missing = ppi == 0;
    if (draft_.ppi_missing) {
      ask("How large does this print? No file says its resolution, and none is assumed.",
          "ppi = 300 (pixels per inch at print size), near the top of the scene");
    }
  }

  /// The greys of one set run the same way: what most borders say counts for all.
  void settle_polarity() {
    int dark = 0, light = 0;
    for (const DraftPlate& p : draft_.plates) {
      if (p.survey.polarity_by != PolarityBy::border) continue;
      ++(p.survey.polarity == Polarity::dark_is_ink ? dark : light);
    }
    const Polarity set = light > dark ? Polarity::light_is_ink : Polarity::dark_is_ink;
    const char* word = set == Polarity::dark_is_ink ? "dark" : "light";
    std::vector<std::string> unclear;
    int greys = 0;
    for (DraftPlate& p : draft_.plates) {
      if (p.survey.polarity_by == PolarityBy::format || p.survey.polarity_by == PolarityBy::given) continue;
      ++greys;
      if (p.survey.polarity != set) {
        p.coverage = 1 - p.coverage;
        p.survey.border_ink = 1 - p.survey.border_ink;
        p.survey.holdings.reset();
      }
      p.polarity = set;
      p.polarity_guessed = p.survey.polarity_by == PolarityBy::border && p.survey.polarity == set
                               ? "its border is without ink then"
                               : "as the other plates of the set";
      if (p.survey.polarity_by == PolarityBy::nothing) unclear.push_back(printable(p.name));
    }
    if (greys == 0) return;
    draft_.assumed.push_back(fmt::format(
        "{} is ink on the greys, as on {}", word,
        set == Polarity::dark_is_ink ? "a film positive" : "a negative: their borders are black"));
    if (set == Polarity::light_is_ink || (dark == 0 && light == 0)) {
      ask(fmt::format("Does {} print on the greys?", set == Polarity::light_is_ink ? "white" : "black"),
          "ink_is = \"dark\" or \"light\" in every [[plate]] of a grey");
    } else if (!unclear.empty()) {
      ask(fmt::format("Does black print on {}? Its border is neither paper nor solid.",
                      fmt::join(unclear, ", ")),
          "ink_is = \"dark\" or \"light\" in its [[plate]]");
    }
  }

  std::optional<std::string> wished_ink(const DraftPlate& p) const {
    for (const auto& [plate, ink] : wishes_.inks)
      if (plate == p.name) return ink;
    return std::nullopt;
  }

  void settle_roles() {
    for (DraftPlate& p : draft_.plates) {
      guesses_[p.name] = guess_from_name(p.name, inks_);
      p.kind = guesses_[p.name].kind;
      if (wished_ink(p)) {
        if (p.kind == PlateKind::shirt || p.kind == PlateKind::ignore) p.kind = PlateKind::top;
        continue;
      }
      const bool full = p.coverage > kMostlyInk || p.survey.border_ink > kMostlyInk;
      if (p.kind == PlateKind::ignore) {
        p.role = PlateRole::ignore;
        p.role_guessed = "by its name";
        ask(fmt::format("\"{}\" sounds like marks, a mask or notes. Is there anything on it that prints?",
                        printable(p.name)),
            "role = \"print\", with ink and mesh, " + in_table(p));
      } else if (p.kind == PlateKind::shirt || (full && p.kind != PlateKind::base)) {
        p.role = PlateRole::shirt;
        p.role_guessed =
            p.kind == PlateKind::shirt ? "by its name" : "nearly all of it, or of its border, is ink";
        p.kind = PlateKind::shirt;
        ask(fmt::format(
                "\"{}\" covers {:.0f} % of its area. Does it only show the shirt's colour, or is it a plate "
                "that prints? It does not print until you say so.",
                printable(p.name), 100 * p.coverage),
            "role = \"print\", with ink and mesh (or role = \"ignore\"), " + in_table(p) +
                "; a base goes before all that lies on it, with flash = true");
      } else if (p.survey.holdings && p.survey.holdings->empty) {
        ask(fmt::format("\"{}\" holds no ink at all. Is it the right file?", printable(p.name)),
            "file, or role = \"ignore\", " + in_table(p));
      }
    }
  }

  /// A plate that is called white alone is the base if there is no other, else the highlight.
  void settle_whites() {
    const auto any = [&](PlateKind kind) {
      return std::any_of(draft_.plates.begin(), draft_.plates.end(),
                         [&](const DraftPlate& p) { return prints(p) && p.kind == kind; });
    };
    const auto printing = std::count_if(draft_.plates.begin(), draft_.plates.end(),
                                        [&](const DraftPlate& p) { return prints(p); });
    for (DraftPlate& p : draft_.plates) {
      if (!prints(p) || !guesses_[p.name].white || wished_ink(p)) continue;
      p.kind = any(PlateKind::base) ? PlateKind::highlight : PlateKind::base;
      guesses_[p.name].ink = p.kind == PlateKind::base ? "base-white" : "highlight-white";
      if (printing == 1) continue;
      ask(fmt::format("\"{}\": does it print {}?", printable(p.name),
                      p.kind == PlateKind::base
                          ? "first, as the base under the others (so it stands now), or last, as a "
                            "highlight"
                          : "last, as a highlight (so it stands now), or under the others"),
          "the place of its [[plate]] among the others, ink and flash there");
    }
  }

  void settle_shirt_and_press() {
    const bool on_dark = std::any_of(draft_.plates.begin(), draft_.plates.end(), [&](const DraftPlate& p) {
      return prints(p) && (p.kind == PlateKind::base || p.kind == PlateKind::highlight ||
                           guesses_[p.name].ink.starts_with("discharge"));
    });
    draft_.shirt = wishes_.shirt.value_or(on_dark ? "black-cotton" : "white-cotton");
    draft_.shirt_guessed = !wishes_.shirt;
    library_.shirt(draft_.shirt, {}, faults_);
    draft_.press = wishes_.press.value_or("average-automatic");
    draft_.press_guessed = !wishes_.press;
    library_.press(draft_.press, {}, faults_);
    draft_.art_box = wishes_.art_box;
    if (draft_.shirt_guessed) {
      ask(fmt::format("Which shirt does it print on? Taken for now: {}{}.", draft_.shirt,
                      on_dark ? ", since there is a white or a discharge plate" : ""),
          "shirt = ..., near the top of the scene (kirtle shirts lists them)");
    }
  }

  void settle_inks() {
    for (DraftPlate& p : draft_.plates) {
      if (!prints(p)) continue;
      const NameGuess& guess = guesses_[p.name];
      if (const std::optional<std::string> wished = wished_ink(p)) {
        p.ink = *wished;
      } else if (!guess.ink.empty()) {
        p.ink = guess.ink;
        p.ink_guessed = "from the plate's name";
      } else {
        p.ink = "black";
        p.ink_guessed = "nothing says which ink";
        ask(fmt::format("Which ink is \"{}\"? Its name does not tell; black stands in.", printable(p.name)),
            "ink = ... " + in_table(p) + " (kirtle inks lists them)");
      }
      const Ink* ink = library_.ink(p.ink, {}, faults_);
      if (ink == nullptr) continue;
      lightness_[p.name] = lightness_of(*ink);
      if (!guess.ink.empty() && !guess.sure_of_ink && !guess.white && !p.ink_guessed.empty()) {
        loose_.push_back(fmt::format("\"{}\" as {}", printable(p.name), p.ink));
      }
      if (wished_ink(p) && ink->id == "base-white") p.kind = PlateKind::base;
      if (wished_ink(p) && ink->id == "highlight-white") p.kind = PlateKind::highlight;
      p.mesh = mesh_for(p.kind, ink->family);
    }
    if (!loose_.empty()) {
      ask(fmt::format("Are these the right inks: {}? Several come near.", fmt::join(loose_, ", ")),
          "ink = ... in each [[plate]] (kirtle inks lists them)");
    }
  }

  /// Common practice, no source: open for a base and what soaks, finer for tops.
  std::string mesh_for(PlateKind kind, InkFamily family) const {
    const std::string wanted = kind == PlateKind::base          ? "61-64"
                               : family != InkFamily::plastisol ? "54-64"
                               : kind == PlateKind::highlight   ? "77-48"
                                                                : "90-48";
    const std::vector<std::string> ids = library_.ids("meshes");
    return ids.empty() || std::find(ids.begin(), ids.end(), wanted) != ids.end() ? wanted : ids.front();
  }

  void settle_order() {
    const auto place = [&](const DraftPlate& p) {
      if (!prints(p)) return 3;
      return p.kind == PlateKind::base ? 0 : p.kind == PlateKind::highlight ? 2 : 1;
    };
    std::stable_sort(draft_.plates.begin(), draft_.plates.end(),
                     [&](const DraftPlate& a, const DraftPlate& b) {
                       if (place(a) != place(b)) return place(a) < place(b);
                       return place(a) == 1 && lightness_[a.name] > lightness_[b.name];
                     });
    std::vector<std::string> order;
    for (std::size_t i = 0; i < draft_.plates.size(); ++i) {
      DraftPlate& p = draft_.plates[i];
      if (!prints(p)) continue;
      order.push_back(fmt::format("{} ({})", printable(p.name), p.ink));
      const bool more = i + 1 < draft_.plates.size() && prints(draft_.plates[i + 1]);
      p.flash = p.kind == PlateKind::base && more;
    }
    if (order.empty()) return;
    draft_.assumed.push_back(fmt::format("print order: {}", fmt::join(order, ", ")));
    if (draft_.plates.front().flash) draft_.assumed.emplace_back("flash after the base, the rest wet on wet");
    draft_.assumed.emplace_back(
        "halftone 55 lpi, 22.5 degrees, round dots on every plate; meshes by what each plate is");
  }

  void ask_about_the_rest() {
    ask("Is there a gain curve (a cut) in these plates already, or in the film output? Taken for now: none.",
        "curve_on_film = \"plates\" or \"output\" in each [[plate]]");
    if (!draft_.art_box) {
      draft_.assumed.emplace_back("all that is on the plates prints; [art] box cuts off marks and labels");
    }
  }

  const DraftWishes& wishes_;
  Library& library_;
  Diagnostics faults_;
  SceneDraft draft_;
  std::vector<KnownInk> inks_;
  std::map<std::string, NameGuess> guesses_;
  std::map<std::string, double> lightness_;
  std::vector<std::string> loose_;
};

}  // namespace

SceneDraft draft_scene(const Survey& survey, const DraftWishes& wishes, Library& library, std::string title) {
  return Drafter(wishes, library).run(survey, std::move(title));
}

}  // namespace kirtle
