#include "session.h"

#include "job/press_plan.h"
#include "job/read_scene.h"
#include "predict/picture.h"
#include "predict/run_press.h"
#include "predict/shirt_run.h"
#include "scene_writer.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

struct Session::Opened {
  std::unique_ptr<const Scene> scene;
  std::unique_ptr<Library> library;
  std::shared_ptr<BuildShop> shop;
  std::shared_ptr<const Build> build;
};

Session::Session(unsigned threads)
    : threads_(threads), shop_(std::make_shared<BuildShop>()), other_shop_(std::make_shared<BuildShop>()) {}

Session::~Session() {
  builder_.cancel();
  painter_.cancel();
  close_painter_.cancel();
  runner_.cancel();
}

void Session::say(Severity severity, std::string text) {
  messages_.push_back({severity, std::move(text)});
  ++version_;
}

void Session::failed(const std::exception& e) {
  if (const auto* input = dynamic_cast<const InputError*>(&e)) {
    for (const Diagnostic& d : input->diagnostics().all()) say(d.severity, to_string(d));
  } else {
    say(Severity::error, e.what());
  }
}

void Session::open(const std::filesystem::path& scene_file) {
  builder_.start("open", [this, scene_file, threads = threads_](const Progress& progress) -> Lane::Finish {
    auto opened = std::make_shared<Opened>();
    const std::filesystem::path file =
        std::filesystem::is_directory(scene_file) ? scene_file / "scene.toml" : scene_file;
    opened->scene = std::make_unique<const Scene>(read_scene(file));
    Diagnostics faults;
    opened->library = std::make_unique<Library>(load_library(data_folders_of(file), faults));
    opened->shop = std::make_shared<BuildShop>();
    opened->build = opened->shop->make(*opened->scene, true, threads, progress);
    return [this, opened] { take_opened(std::move(*opened)); };
  });
}

void Session::take_opened(Opened opened) {
  painter_.cancel();
  close_painter_.cancel();
  runner_.cancel();
  reader_.cancel();
  other_builder_.cancel();
  messages_.clear();
  for (const Diagnostic& d : opened.scene->notes) say(d.severity, to_string(d));
  for (const Diagnostic& d : opened.build->notes.all()) say(d.severity, to_string(d));
  file_scene_ = std::move(opened.scene);
  scene_ = std::make_unique<const Scene>(*file_scene_);
  library_ = std::move(opened.library);
  shop_ = opened.shop;
  other_shop_ = std::make_shared<BuildShop>();
  build_ = opened.build;
  other_.reset();
  pyramid_.reset();
  register_run_ = std::make_unique<const RegisterRun>(register_model(*scene_));
  heads_.assign(build_->plates().size(), Head::down);
  only_ = -1;
  history_.assign(1, Edits{});
  at_ = 0;
  shirt_ = 0;
  playing_ = false;
  run_.reset();
  findings_.reset();
  point_.reset();
  reading_.reset();
  pinned_.reset();
  marked.reset();
  selected = 0;
  lights_beside.clear();
  mode = Mode::print;
  against_shirt = scene_->other_shirts.empty() ? scene_->shirt.id : scene_->other_shirts.front().id;
  fit(1000, 1000, false);
  ++version_;
  if (!build_->refined) rebuild(false);
  paint();
}

Scene Session::scene_now() const {
  return shirt_ > 0 ? scene_on_shirt(*scene_, *register_run_, shirt_) : sample_print(*scene_);
}

std::optional<Scene> Session::other_scene() {
  if (!is_open() || mode != Mode::against || against == Against::plates) return std::nullopt;
  if (against == Against::file) return *file_scene_;
  Edits edits = this->edits();
  edits.shirt = against_shirt;
  Scene scene = edited(*file_scene_, edits, *library_);
  const Scene now = scene_now();
  for (std::size_t i = 0; i < scene.passes.size(); ++i) scene.passes[i].offset = now.passes[i].offset;
  return scene;
}

void Session::set_against(Against what, std::string shirt) {
  mode = Mode::against;
  against = what;
  if (!shirt.empty()) against_shirt = std::move(shirt);
  other_.reset();
  ++version_;
  rebuild_other();
}

void Session::set_mode(Mode wanted) {
  mode = wanted;
  ++version_;
  rebuild_other();
}

void Session::toggle_light_beside(const std::string& light) {
  const auto known = std::find(lights_beside.begin(), lights_beside.end(), light);
  if (known != lights_beside.end()) {
    lights_beside.erase(known);
  } else if (light != scene_->light && lights_beside.size() < 2) {
    lights_beside.push_back(viewing_weights(light, scene_->observer).light);
  }
  ++version_;
}

void Session::play(bool on) {
  if (!is_open() || on == playing_) return;
  playing_ = on;
  since_shirt_ = 0;
  ++version_;
  if (on) return;
  rebuild(true);  // the shirt at hand, as sim draws it
  rebuild_other();
}

bool Session::poll() {
  const auto on_error = [this](const std::exception& e) { failed(e); };
  bool any = false;
  for (Lane* lane : {&builder_, &other_builder_, &painter_, &close_painter_, &runner_, &reader_})
    any = lane->poll(on_error) || any;
  return any;
}

void Session::settle() {
  bool more = true;
  while (more) {
    for (Lane* lane : {&builder_, &other_builder_, &painter_, &close_painter_, &runner_, &reader_})
      lane->wait();
    more = poll();
  }
}

void Session::fit(double pane_width_px, double pane_height_px, bool garment) {
  if (!build_) return;
  const double w = build_->prediction->width_mm(), h = build_->prediction->height_mm();
  // The drawn shirt reaches from 404 mm left to 404 mm right of its middle, from 92 mm above the collar's
  // front to 626 mm below it (garment.cpp); its collar's front lies kDropBelowCollarMm above the print.
  const double across = garment ? 860 : w * 1.06, down = garment ? 770 : h * 1.06;
  view.centre = {w / 2, garment ? 0.5 * (626 - 92) - kDropBelowCollarMm : h / 2};
  view.px_per_mm =
      std::clamp(std::min(pane_width_px / across, pane_height_px / down), kLeastPxPerMm, kMostPxPerMm);
  ++version_;
}

void Session::look_at(PointMm place, double px_per_mm) {
  view.centre = place;
  view.px_per_mm = std::clamp(px_per_mm, kLeastPxPerMm, kMostPxPerMm);
  ++version_;
}

void Session::set_head(int plate, Head head) {
  heads_.at(static_cast<std::size_t>(plate)) = head;
  only_ = -1;
  ++version_;
}

void Session::only(int plate) {
  only_ = only_ == plate ? -1 : plate;
  ++version_;
}

bool Session::prints(int plate) const { return only_ >= 0 ? plate == only_ : head(plate) == Head::down; }

void Session::edit(const Edits& edits) {
  if (!is_open() || edits == this->edits()) return;
  std::unique_ptr<const Scene> scene;
  try {
    scene = std::make_unique<const Scene>(edited(*file_scene_, edits, *library_));
  } catch (const std::exception& e) {
    failed(e);
    return;
  }
  if (dragging_ && drag_started_) {
    history_[at_] = edits;
  } else {
    history_.resize(at_ + 1);
    history_.push_back(edits);
    ++at_;
    drag_started_ = dragging_;
  }
  scene_ = std::move(scene);
  edits_changed();
}

void Session::edits_changed() {
  register_run_ = std::make_unique<const RegisterRun>(register_model(*scene_));
  run_.reset();
  findings_.reset();
  ++version_;
  rebuild(true);
  rebuild_other();
}

void Session::undo() {
  if (!can_undo()) return;
  --at_;
  scene_ = std::make_unique<const Scene>(edited(*file_scene_, edits(), *library_));
  edits_changed();
}

void Session::redo() {
  if (!can_redo()) return;
  ++at_;
  scene_ = std::make_unique<const Scene>(edited(*file_scene_, edits(), *library_));
  edits_changed();
}

PlateEdit Session::plate_edit(int plate) const {
  const std::string& name = build_->plates().at(static_cast<std::size_t>(plate)).name;
  const auto it = edits().plates.find(name);
  return it == edits().plates.end() ? PlateEdit{} : it->second;
}

void Session::edit_plate(int plate, const PlateEdit& edit) {
  Edits next = edits();
  const std::string& name = build_->plates().at(static_cast<std::size_t>(plate)).name;
  if (edit.empty()) {
    next.plates.erase(name);
  } else {
    next.plates[name] = edit;
  }
  this->edit(next);
}

void Session::show_shirt(std::uint32_t number) {
  if (!is_open() || number == shirt_) return;
  shirt_ = number;
  ++version_;
  if (!playing_) {
    rebuild(true);
    rebuild_other();
  }
}

void Session::advance(double seconds) {
  if (!playing_ || !is_open()) return;
  since_shirt_ += seconds;
  const auto steps = static_cast<std::uint32_t>(since_shirt_ * shirts_per_second);
  if (steps == 0) return;
  since_shirt_ -= steps / shirts_per_second;
  shirt_ += steps;
  ++version_;
}

std::vector<RegisterOffset> Session::offsets() const {
  std::vector<RegisterOffset> passes, out;
  if (shirt_ > 0) {
    passes = without_placement(register_run_->offsets_of(shirt_));
  } else {
    for (int i = 0; i < register_run_->passes(); ++i) passes.push_back(register_run_->fixed_of(i));
  }
  for (const PrintingPlate& plate : build_->plates()) {
    const auto first = std::find_if(scene_->passes.begin(), scene_->passes.end(),
                                    [&](const ScenePass& p) { return p.plate == plate.scene_plate; });
    out.push_back(passes[static_cast<std::size_t>(first - scene_->passes.begin())]);
  }
  return out;
}

void Session::show_worst() {
  if (!run_ || run_->run.showing.worst < 0) return;
  const ShirtShowing& worst = run_->run.showing.shirts[static_cast<std::size_t>(run_->run.showing.worst)];
  play(false);
  show_shirt(static_cast<std::uint32_t>(run_->run.showing.worst) + 1);
  if (worst.widest_mm > 0) {
    marked = PointMm{static_cast<double>(worst.x_mm), static_cast<double>(worst.y_mm)};
    look_at({static_cast<double>(worst.x_mm), static_cast<double>(worst.y_mm)},
            std::max(view.px_per_mm, 24.0));
  }
}

void Session::show_finding(std::size_t i) {
  if (!findings_ || i >= findings_->findings.size()) return;
  const Finding& f = findings_->findings[i];
  for (std::size_t p = 0; p < plates(); ++p) {
    if (!f.plates.empty() && build_->plates()[p].name == f.plates.front()) selected = static_cast<int>(p);
  }
  marked.reset();
  if (f.at) marked = PointMm{f.at->x.v, f.at->y.v};
  if (f.at) look_at({f.at->x.v, f.at->y.v}, std::max(view.px_per_mm, 24.0));
  ++version_;
}

void Session::point_at(std::optional<PointMm> place) {
  if (!is_open()) return;
  if (place && !(place->x >= 0 && place->y >= 0 && place->x < build_->prediction->width_mm() &&
                 place->y < build_->prediction->height_mm())) {
    place.reset();
  }
  if (point_.has_value() == place.has_value() && (!place || (point_->x == place->x && point_->y == place->y)))
    return;
  point_ = place;
  if (point_) {
    read_point();
  } else {
    reader_.cancel();
    reading_.reset();
  }
}

void Session::pin() {
  if (reading_ && point_) {
    pinned_ = Pinned{*point_, reading_->lab, reading_->hex, reading_->reflectance};
  } else {
    pinned_.reset();
  }
}

bool Session::save_as(const std::filesystem::path& target) {
  if (!is_open()) return false;
  try {
    write_edited_scene(*file_scene_, edits(), *library_, target);
    say(Severity::notice, "saved as " + printable(target.string(), 300));
    return true;
  } catch (const std::exception& e) {
    failed(e);
    return false;
  }
}

}  // namespace kirtle
