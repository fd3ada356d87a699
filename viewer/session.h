#pragma once
// Everything the window knows and does, without a window: no GL, no Dear ImGui, so that tests can drive it.
// Panels read it and call its commands. Slow work runs beside it; poll() takes in what is done.
#include "build.h"
#include "edits.h"
#include "lane.h"
#include "session_types.h"

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

class Session : public WhatIsSeen {
 public:
  explicit Session(unsigned threads = 0);
  ~Session();

  // Files.
  void open(const std::filesystem::path& scene_file);  ///< errors leave the open scene as it was
  bool is_open() const { return build_ != nullptr; }
  /// Writes the scene with its edits; the file appears whole or not at all. False with a message if it cannot
  /// be.
  bool save_as(const std::filesystem::path& target);
  void export_picture(const std::filesystem::path& target);

  // Taking in what is done. True if anything changed. settle() waits for all of it.
  bool poll();
  void settle();

  /// Asks sim for what the loupe shows of this part of the print, light's spread included; loupe_picture()
  /// then has it.
  void look_close(PointMm corner, double width_mm, double height_mm, double dpi);
  const std::shared_ptr<const LoupePicture>& loupe_picture() const { return loupe_picture_; }

  // What is open.
  const Scene& file_scene() const { return *file_scene_; }
  const Scene& scene() const { return *scene_; }  ///< with the edits; until the next one
  Library& library() { return *library_; }
  const std::shared_ptr<const Build>& build() const { return build_; }
  const std::shared_ptr<const Build>& other_build() const {
    return other_;
  }  ///< right of the line; may be null
  const std::shared_ptr<const Pyramid>& pyramid() const { return pyramid_; }
  std::size_t plates() const { return build_ ? build_->plates().size() : 0; }

  // The view.
  void fit(double pane_width_px, double pane_height_px, bool garment);
  void look_at(PointMm place, double px_per_mm);
  void set_against(Against what, std::string shirt = {});
  void set_mode(Mode mode);
  void toggle_light_beside(const std::string& light);
  void touch() { ++version_; }  ///< after the fields above were changed

  // Heads.
  Head head(int plate) const { return heads_.at(static_cast<std::size_t>(plate)); }
  void set_head(int plate, Head head);
  void only(int plate);  ///< this screen only; again: all down
  int only() const { return only_; }
  bool prints(int plate) const;

  // Edits. Each is one step for undo; between begin_drag and end_drag all are one.
  const Edits& edits() const { return history_[at_]; }
  void edit(const Edits& edits);
  void edit_plate(int plate, const PlateEdit& edit);
  PlateEdit plate_edit(int plate) const;
  void begin_drag() {
    dragging_ = true;
    drag_started_ = false;
  }
  void end_drag() { dragging_ = false; }
  bool can_undo() const { return at_ > 0; }
  bool can_redo() const { return at_ + 1 < history_.size(); }
  void undo();
  void redo();

  // The press. Shirt 0: as set up.
  std::uint32_t shirt() const { return shirt_; }
  void show_shirt(std::uint32_t number);
  void play(bool on);
  void stop_playing() { play(false); }
  bool playing() const { return playing_; }
  double shirts_per_second = 3;
  void advance(double seconds);  ///< of the animation
  /// Where each printing plate lands now.
  std::vector<RegisterOffset> offsets() const;
  const RegisterRun& register_run() const { return *register_run_; }

  // A run of shirts.
  void start_run(int shirts);
  /// Looks for what an operator would send back, in plates and scene; findings() then has it.
  void start_check();
  /// So, and says so. Runs, checks and exports take their turn in one lane, where the next cancels the last.
  bool writing_picture();
  const std::optional<CheckReport>& findings() const { return findings_; }
  void show_finding(std::size_t i);
  void cancel_run() { runner_.cancel(); }
  bool run_busy() const { return runner_.busy(); }
  double run_share() const { return runner_.share(); }
  std::string run_name() const { return runner_.name(); }
  const std::optional<RunResult>& run_result() const { return run_; }
  void show_worst();

  // The point.
  void point_at(std::optional<PointMm> place);
  const std::optional<PointMm>& point() const { return point_; }
  const std::optional<PointReading>& reading() const { return reading_; }
  const Section& section() const { return section_; }  ///< of the reading
  void pin();
  const std::optional<Pinned>& pinned() const { return pinned_; }

  bool predicting() const { return builder_.busy(); }
  double predicting_share() const { return builder_.share(); }
  const std::vector<Message>& messages() const { return messages_; }
  void say(Severity severity, std::string text);
  void clear_messages() { messages_.clear(); }
  std::uint64_t version() const { return version_; }  ///< rises with every change that a picture could show

 private:
  struct Opened;
  void take_opened(Opened opened);
  void edits_changed();
  void rebuild(bool quick);
  void rebuild_other();
  void paint();
  void read_point();
  std::optional<Scene> other_scene();
  Scene scene_now() const;
  void failed(const std::exception& e);

  unsigned threads_;
  std::unique_ptr<const Scene> file_scene_;
  std::unique_ptr<const Scene> scene_;
  std::unique_ptr<Library> library_;
  std::shared_ptr<const Build> build_, other_;
  std::shared_ptr<const Pyramid> pyramid_;
  std::shared_ptr<const LoupePicture> loupe_picture_;
  std::vector<double> loupe_asked_;
  std::unique_ptr<const RegisterRun> register_run_;
  std::vector<Head> heads_;
  int only_ = -1;
  std::vector<Edits> history_{Edits{}};
  std::size_t at_ = 0;
  bool dragging_ = false, drag_started_ = false;
  std::uint32_t shirt_ = 0;
  bool playing_ = false;
  double since_shirt_ = 0;
  std::optional<RunResult> run_;
  std::optional<CheckReport> findings_;
  std::optional<PointMm> point_;
  std::optional<PointReading> reading_;
  Section section_;
  std::optional<Pinned> pinned_;
  std::vector<Message> messages_;
  std::uint64_t version_ = 0;
  std::shared_ptr<BuildShop> shop_, other_shop_;
  Lane builder_, other_builder_, painter_, close_painter_, runner_, reader_;
};

}  // namespace kirtle
