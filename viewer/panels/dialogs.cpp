// What comes up over the window: open, save, export, help, messages; and the keyboard.
#include "panels/panel.h"

#include <GLFW/glfw3.h>
#include <algorithm>
#include <cstring>
#include <fmt/format.h>

namespace kirtle {

namespace {

struct Key {
  const char* keys;
  const char* does;
};
constexpr Key kKeys[] = {
    {"drag, wheel", "pan, zoom at the pointer"},
    {"F / G", "the print / the whole garment"},
    {"T", "true size, as the screen was calibrated (Shift+T calibrates)"},
    {"L", "loupe on the pointer, and back"},
    {"+ / -", "zoom"},
    {"arrows", "pan"},
    {"1 to 9", "that head down or up; with Shift this screen only"},
    {"Tab", "next screen chosen"},
    {"M", "print, films, against"},
    {"O", "films: all, or the chosen one alone"},
    {"[ / ]", "line to the left, to the right"},
    {"B", "next light"},
    {"N", "next shirt colour"},
    {"Space", "shirt after shirt; , and . step"},
    {"0", "as set up"},
    {"R / Esc", "print the order / stop it"},
    {"W", "the worst shirt of the order"},
    {"K", "what an operator would send back"},
    {"P", "pin the point"},
    {"Ctrl+Z / Ctrl+Y", "undo, redo"},
    {"Ctrl+O / Ctrl+S / Ctrl+E", "open, save as a new scene, export the picture"},
    {"F1", "these keys"},
};

bool ask_path(Ui& ui, const char* title, const char* button, bool& asks, const std::string& suggestion) {
  if (asks) {
    asks = false;
    std::strncpy(ui.window.path, suggestion.c_str(), sizeof ui.window.path - 1);
    ImGui::OpenPopup(title);
  }
  bool go = false;
  ImGui::SetNextWindowPos(
      {ui.layout.canvas.x + 0.5F * ui.layout.canvas.width, ui.layout.canvas.y + ui.px(120)}, ImGuiCond_Always,
      {0.5F, 0});
  if (ImGui::BeginPopup(title)) {
    ImGui::PushFont(ui.look.text);
    heading(title, ui.look);
    ImGui::SetNextItemWidth(ui.px(460));
    if (ImGui::IsWindowAppearing()) ImGui::SetKeyboardFocusHere();
    go = ImGui::InputText("##path", ui.window.path, sizeof ui.window.path,
                          ImGuiInputTextFlags_EnterReturnsTrue);
    go = ImGui::Button(button) || go;
    ImGui::SameLine();
    if (ImGui::Button("Leave it") || go) ImGui::CloseCurrentPopup();
    ImGui::PopFont();
    ImGui::EndPopup();
  }
  return go;
}

std::string beside(const Session& s, const char* ending) {
  const std::filesystem::path& file = s.file_scene().file;
  return (file.parent_path() / (file.stem().string() + ending)).string();
}

void help(Ui& ui) {
  if (!ui.window.show_help) return;
  const Area& c = ui.layout.canvas;
  ImGui::SetNextWindowPos({c.x + 0.5F * c.width, c.y + 0.5F * c.height}, ImGuiCond_Always, {0.5F, 0.5F});
  ImGui::SetNextWindowFocus();
  ImGui::PushStyleColor(ImGuiCol_WindowBg, grey(24, 245));
  ImGui::Begin("##help", nullptr,
               ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoMove |
                   ImGuiWindowFlags_NoSavedSettings);
  ImGui::PopStyleColor();
  ImGui::PushFont(ui.look.text);
  heading("Keys", ui.look);
  if (ImGui::BeginTable("keys", 2, ImGuiTableFlags_SizingFixedFit)) {
    for (const Key& k : kKeys) {
      ImGui::TableNextRow();
      ImGui::TableNextColumn();
      ImGui::PushFont(ui.look.strong);
      ImGui::Text("%s   ", k.keys);
      ImGui::PopFont();
      ImGui::TableNextColumn();
      ImGui::TextUnformatted(k.does);
    }
    ImGui::EndTable();
  }
  ImGui::PopFont();
  ImGui::End();
}

void messages(Ui& ui) {
  const auto& all = ui.session.messages();
  if (all.empty()) return;
  const Area& c = ui.layout.canvas;
  ImGui::SetNextWindowPos({c.x + ui.px(12), c.y + ui.px(44)});
  ImGui::SetNextWindowSizeConstraints({ui.px(120), 0}, {c.width - ui.px(24), c.height * 0.5F});
  ImGui::PushStyleColor(ImGuiCol_WindowBg, grey(24, 235));
  ImGui::Begin("##messages", nullptr,
               ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoMove |
                   ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoFocusOnAppearing);
  ImGui::PopStyleColor();
  ImGui::PushFont(ui.look.small);
  int errors = 0, others = 0;
  for (const Message& m : all) (m.severity == Severity::notice ? others : errors) += 1;
  ImGui::PushTextWrapPos(c.width - ui.px(60));
  for (const Message& m : all) {
    if (m.severity == Severity::notice && errors > 0 && !ui.window.show_messages) continue;
    if (m.severity == Severity::notice && others > 2 && !ui.window.show_messages) continue;
    ImGui::PushStyleColor(ImGuiCol_Text, m.severity == Severity::notice ? kQuietText : kAttention);
    ImGui::TextUnformatted(m.text.c_str());
    ImGui::PopStyleColor();
  }
  ImGui::PopTextWrapPos();
  if (!ui.window.show_messages && (others > 2 || (errors > 0 && others > 0))) {
    if (ImGui::SmallButton(fmt::format("{} notes on the files", others).c_str()))
      ui.window.show_messages = true;
    ImGui::SameLine();
  }
  if (ImGui::SmallButton("Put away")) {
    ui.session.clear_messages();
    ui.window.show_messages = false;
  }
  ImGui::PopFont();
  ImGui::End();
}

void calibration(Ui& ui) {
  if (!ui.window.show_calibration) return;
  const Area& c = ui.layout.canvas;
  ImGui::SetNextWindowPos({c.x + 0.5F * c.width, c.y + ui.px(90)}, ImGuiCond_Always, {0.5F, 0});
  ImGui::PushStyleColor(ImGuiCol_WindowBg, grey(24, 245));
  ImGui::Begin("##ruler", nullptr,
               ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoMove |
                   ImGuiWindowFlags_NoSavedSettings);
  ImGui::PopStyleColor();
  ImGui::PushFont(ui.look.text);
  ImGui::TextUnformatted("Hold a ruler to the screen and drag until this is 100 mm long.");
  const ImVec2 at = ImGui::GetCursorScreenPos();
  const float mm = static_cast<float>(ui.session.screen_px_per_mm);
  ImDrawList* draw = ImGui::GetWindowDrawList();
  for (int i = 0; i <= 100; ++i) {
    const float x = at.x + static_cast<float>(i) * mm;
    draw->AddLine({x, at.y}, {x, at.y + ui.px(i % 10 == 0 ? 22 : i % 5 == 0 ? 15 : 9)}, kInkText, ui.px(1));
  }
  ImGui::Dummy({100 * mm, ui.px(28)});
  ImGui::SetNextItemWidth(ui.px(300));
  float v = mm;
  if (ImGui::SliderFloat("pixels a mm", &v, 2, 12, "%.3f")) {
    ui.session.screen_px_per_mm = static_cast<double>(v);
  }
  if (ImGui::Button("Done")) ui.window.show_calibration = false;
  ImGui::PopFont();
  ImGui::End();
}

template <class T>
T next_of(const std::vector<T>& all, const T& now) {
  const auto it = std::find(all.begin(), all.end(), now);
  return it == all.end() || it + 1 == all.end() ? all.front() : *(it + 1);
}

void step_light(Session& s) {
  const std::string light = next_of<std::string>({"D50", "D65", "A", "F11", "LED-B3"}, s.scene().light);
  Edits e = s.edits();
  e.light = light == s.file_scene().light ? std::nullopt : std::optional<std::string>(light);
  s.edit(e);
}

void step_shirt(Session& s) {
  std::vector<std::string> ids{s.file_scene().shirt.id};
  for (const Cloth& c : s.file_scene().other_shirts) ids.push_back(c.id);
  const std::string id = next_of(ids, s.scene().shirt.id);
  Edits e = s.edits();
  e.shirt = id == s.file_scene().shirt.id ? std::nullopt : std::optional<std::string>(id);
  s.edit(e);
}

}  // namespace

void draw_dialogs(Ui& ui) {
  Session& s = ui.session;
  if (ask_path(ui, "Open a scene", "Open", ui.window.asks_open,
               s.is_open() ? s.file_scene().file.string() : ""))
    s.open(ui.window.path);
  if (s.is_open()) {
    if (ask_path(ui, "Save as a new scene", "Save", ui.window.asks_save, beside(s, "-2.toml")))
      s.save_as(ui.window.path);
    if (ask_path(ui, "Export the picture", "Export", ui.window.asks_export, beside(s, ".png")))
      s.export_picture(ui.window.path);
    calibration(ui);
  }
  messages(ui);
  help(ui);
}

void take_keys(Ui& ui) {
  Session& s = ui.session;
  const ImGuiIO& io = ImGui::GetIO();
  if (io.WantTextInput) return;
  const auto hit = [](int key) { return ImGui::IsKeyPressed(key, false); };
  const auto held = [](int key) { return ImGui::IsKeyPressed(key, true); };
  if (hit(GLFW_KEY_F1)) ui.window.show_help = !ui.window.show_help;
  if (io.KeyCtrl && hit(GLFW_KEY_O)) ui.window.asks_open = true;
  if (!s.is_open()) return;
  const double w = static_cast<double>(ui.layout.canvas.width),
               h = static_cast<double>(ui.layout.canvas.height);
  if (io.KeyCtrl) {
    if (held(GLFW_KEY_Z) && !io.KeyShift) s.undo();
    if (held(GLFW_KEY_Y) || (held(GLFW_KEY_Z) && io.KeyShift)) s.redo();
    if (hit(GLFW_KEY_S)) ui.window.asks_save = true;
    if (hit(GLFW_KEY_E)) ui.window.asks_export = true;
    return;
  }
  if (hit(GLFW_KEY_F)) s.fit(w, h, false);
  if (hit(GLFW_KEY_G)) s.fit(w, h, true);
  if (hit(GLFW_KEY_T)) {
    if (io.KeyShift)
      ui.window.show_calibration = !ui.window.show_calibration;
    else
      s.look_at(s.view.centre, s.screen_px_per_mm);
  }
  if (hit(GLFW_KEY_L)) {
    const bool in = Renderer::loupe_weight(*s.build(), s.view.px_per_mm) > 0.9;
    if (in)
      s.fit(w, h, false);
    else
      s.look_at(s.point().value_or(s.view.centre), 48);
  }
  const double step = 0.1 * std::min(w, h);
  const double in = held(GLFW_KEY_EQUAL) || held(GLFW_KEY_KP_ADD)        ? 1.25
                    : held(GLFW_KEY_MINUS) || held(GLFW_KEY_KP_SUBTRACT) ? 0.8
                                                                         : 1;
  const double right = (held(GLFW_KEY_RIGHT) ? step : 0) - (held(GLFW_KEY_LEFT) ? step : 0);
  const double down = (held(GLFW_KEY_DOWN) ? step : 0) - (held(GLFW_KEY_UP) ? step : 0);
  if (in != 1) s.view.zoom(in, 0, 0);
  if (right != 0 || down != 0) s.view.pan(-right, -down);
  if (in != 1 || right != 0 || down != 0) s.touch();
  for (int i = 0; i < std::min(9, static_cast<int>(s.plates())); ++i) {
    if (!hit(GLFW_KEY_1 + i)) continue;
    if (io.KeyShift)
      s.only(i);
    else
      s.set_head(i, s.head(i) == Head::down ? Head::up : Head::down);
  }
  if (hit(GLFW_KEY_TAB)) {
    s.selected =
        (s.selected + (io.KeyShift ? static_cast<int>(s.plates()) - 1 : 1)) % static_cast<int>(s.plates());
    s.touch();
  }
  if (hit(GLFW_KEY_M)) {
    if (s.mode == Mode::print)
      s.set_mode(Mode::plates);
    else if (s.mode == Mode::plates)
      s.set_against(s.against);
    else
      s.set_mode(Mode::print);
  }
  if (hit(GLFW_KEY_O)) {
    s.film_alone = !s.film_alone;
    s.touch();
  }
  if (held(GLFW_KEY_LEFT_BRACKET) || held(GLFW_KEY_RIGHT_BRACKET)) {
    s.line = std::clamp(s.line + (held(GLFW_KEY_LEFT_BRACKET) ? -0.05 : 0.05), 0.0, 1.0);
    s.touch();
  }
  if (hit(GLFW_KEY_B)) step_light(s);
  if (hit(GLFW_KEY_N)) step_shirt(s);
  if (hit(GLFW_KEY_SPACE)) {
    if (s.playing())
      s.stop_playing();
    else
      s.play(true);
  }
  if (held(GLFW_KEY_PERIOD)) s.show_shirt(s.shirt() + 1);
  if (held(GLFW_KEY_COMMA)) s.show_shirt(s.shirt() > 0 ? s.shirt() - 1 : 0);
  if (hit(GLFW_KEY_0)) s.show_shirt(0);
  if (hit(GLFW_KEY_R)) s.start_run(ui.window.run_shirts);
  if (hit(GLFW_KEY_ESCAPE)) s.cancel_run();
  if (hit(GLFW_KEY_W)) s.show_worst();
  if (hit(GLFW_KEY_K)) {
    ui.window.shows_findings = true;
    s.start_check();
  }
  if (hit(GLFW_KEY_P)) s.pin();
}

}  // namespace kirtle
