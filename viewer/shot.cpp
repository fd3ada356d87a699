#include "shot.h"

#include "app.h"
#include "job/own_files.h"
#include "offscreen.h"
#include "plate/io/write_picture.h"
#include "predict/prediction.h"

#include <algorithm>
#include <backends/imgui_impl_opengl3.h>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <span>
#include <thread>

namespace kirtle {

namespace {

/// Frames go untimed for so long: a card that was idle takes a third of a second until its clocks are up
/// (frames of 16 ms before, of 3.5 after, on an NVIDIA H200).
constexpr std::chrono::milliseconds kWarmUp{700};

/// Dear ImGui without a window around it.
class Stage {
 public:
  explicit Stage(const ViewerArguments& a)
      : arguments_(a), context_(), canvas_(a.width, a.height, GL_RGBA8, GL_NEAREST) {
    ImGui::CreateContext();
    ImGui_ImplOpenGL3_Init("#version 330 core");
    app_ =
        std::make_unique<App>(session_, static_cast<float>(a.scale), draws_in_software(context_.renderer()));
    if (a.profile) app_->renderer().set_profile(a.profile);
    app_->window().show_help = a.keys;
    app_->window().shows_findings = a.check;
    const Area canvas = app_->layout(static_cast<float>(a.width), static_cast<float>(a.height)).canvas;
    apply(a, session_, a.plain ? a.width : static_cast<double>(canvas.width),
          a.plain ? a.height : static_cast<double>(canvas.height));
  }
  ~Stage() {
    app_.reset();
    ImGui_ImplOpenGL3_Shutdown();
    ImGui::DestroyContext();
  }
  Stage(const Stage&) = delete;
  Stage& operator=(const Stage&) = delete;

  bool frame() {
    glBindFramebuffer(GL_FRAMEBUFFER, canvas_.id());
    glDisable(GL_SCISSOR_TEST);
    glClearColor(0.17F, 0.17F, 0.17F, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    const bool more = app_->draw(arguments_.width, arguments_.height, canvas_.id(), arguments_.plain);
    if (arguments_.plain) return more;
    ImGuiIO& io = ImGui::GetIO();
    io.DisplaySize = {static_cast<float>(arguments_.width), static_cast<float>(arguments_.height)};
    io.DeltaTime = 1.0F / 60;
    io.MousePos = {-1e6F, -1e6F};
    ImGui_ImplOpenGL3_NewFrame();
    ImGui::NewFrame();
    app_->panels(io.DisplaySize.x, io.DisplaySize.y);
    ImGui::Render();
    glBindFramebuffer(GL_FRAMEBUFFER, canvas_.id());
    ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
    return more;
  }

  std::vector<std::uint8_t> pixels() const {
    const std::size_t w = static_cast<std::size_t>(arguments_.width),
                      h = static_cast<std::size_t>(arguments_.height);
    std::vector<std::uint8_t> flipped(w * h * 3), out(w * h * 3);
    glBindFramebuffer(GL_FRAMEBUFFER, canvas_.id());
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadPixels(0, 0, arguments_.width, arguments_.height, GL_RGB, GL_UNSIGNED_BYTE, flipped.data());
    for (std::size_t y = 0; y < h; ++y)
      std::copy_n(flipped.data() + (h - 1 - y) * w * 3, w * 3, out.data() + y * w * 3);
    return out;
  }

  Session& session() { return session_; }
  App& app() { return *app_; }
  std::string driver() const { return context_.renderer(); }

 private:
  const ViewerArguments& arguments_;
  Offscreen context_;
  GlCanvas canvas_;
  Session session_;
  std::unique_ptr<App> app_;
};

/// option: as it would be given.
void need_scene(Stage& stage, const std::string& option) {
  if (!stage.session().is_open())
    throw InputError({}, option.substr(0, option.find(' ')) + " needs a scene",
                     "name one: kirtle-view SCENE " + option);
}

}  // namespace

bool draws_in_software(const std::string& renderer) {
  return renderer.find("llvmpipe") != std::string::npos || renderer.find("softpipe") != std::string::npos ||
         renderer.find("swrast") != std::string::npos;
}

void take_shot(const ViewerArguments& arguments) {
  Stage stage(arguments);
  need_scene(stage, "--shot FILE.png");
  refuse_own_files(own_files(stage.session().scene()), std::span(&*arguments.shot, 1), "the picture is");
  stage.app().renderer().settings.most_passes = 16;
  // Once to lay the panels out and to ask for what sim draws when the view stands still; then what came of
  // it.
  for (int i = 0; i < 18; ++i) stage.frame();
  stage.session().settle();
  for (int i = 0; i < 64 && stage.frame(); ++i) {
  }
  check_gl("the picture");
  PictureFormat format;
  format.width = arguments.width;
  format.height = arguments.height;
  format.text = {{"Software", "Kirtle"}};
  const auto writer = PictureWriter::open(*arguments.shot, format);
  writer->write_rows8(stage.pixels());
  writer->commit();
}

namespace {

using Milliseconds = std::chrono::duration<double, std::milli>;

/// From an empty window to the scene's first picture; then how long its plates alone take to read.
void measure_opening(const ViewerArguments& arguments) {
  ViewerArguments empty = arguments;
  empty.scene.clear();
  Stage stage(empty);
  Session& s = stage.session();
  stage.frame();
  glFinish();
  const auto start = std::chrono::steady_clock::now();
  s.open(arguments.scene);
  while (!s.is_open()) {
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
    s.poll();
    throw_if_failed(s);
    stage.frame();
  }
  s.fit(arguments.width, arguments.height, false);
  stage.frame();
  glFinish();
  const auto open = std::chrono::steady_clock::now();
  Diagnostics notes;
  read_printing_plates(s.scene(), notes);
  const auto read = std::chrono::steady_clock::now();
  std::printf("first picture %.0f ms after opening; reading the plates alone %.0f ms\n",
              Milliseconds(open - start).count(), Milliseconds(read - open).count());
}

}  // namespace

void measure_frames(const ViewerArguments& arguments) {
  if (!arguments.scene.empty()) measure_opening(arguments);
  Stage stage(arguments);
  Session& s = stage.session();
  need_scene(stage, "--frames 200");
  stage.app().renderer().settings.most_passes = 1;
  // What is done once in the background is not part of a frame.
  stage.frame();
  s.settle();
  stage.frame();
  if (arguments.moving == "shirts") s.play(true);
  std::vector<double> ms;
  const auto timed_from = std::chrono::steady_clock::now() + kWarmUp;
  for (int i = 0; ms.size() < static_cast<std::size_t>(arguments.frames); ++i) {
    if (arguments.moving == "shirts") {
      s.advance(1.0001 / s.shirts_per_second);
    } else {
      s.view.pan(3 * std::cos(0.1 * i), 3 * std::sin(0.13 * i));
      s.view.zoom(i % 40 < 20 ? 1.02 : 1 / 1.02, 0, 0);
      s.touch();
    }
    const auto start = std::chrono::steady_clock::now();
    stage.frame();
    glFinish();
    if (start >= timed_from) ms.push_back(Milliseconds(std::chrono::steady_clock::now() - start).count());
  }
  check_gl("measuring");
  std::sort(ms.begin(), ms.end());
  const auto at = [&](double share) {
    return ms[static_cast<std::size_t>(share * static_cast<double>(ms.size() - 1) + 0.5)];
  };
  std::printf(
      "%s, %d x %d, %zu plates, %s moving, %zu frames: median %.2f ms, 99th percentile %.2f ms, longest %.2f "
      "ms\n",
      stage.driver().c_str(), arguments.width, arguments.height, s.plates(), arguments.moving.c_str(),
      ms.size(), at(0.5), at(0.99), ms.back());
}

}  // namespace kirtle
