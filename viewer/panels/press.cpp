// The press: where plates land, shirt after shirt, the run; and the settings of the chosen screen.
#include "panels/panel.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

constexpr float kPadRangeMm = 0.6F;

void set_offset(Session& s, const RegisterOffset& o) {
  PlateEdit e = s.plate_edit(s.selected);
  e.offset = o;
  s.edit_plate(s.selected, e);
}

RegisterOffset setup_of(const Session& s, int plate) {
  const int scene_plate = s.build()->plates()[static_cast<std::size_t>(plate)].scene_plate;
  for (const ScenePass& p : s.scene().passes) {
    if (p.plate == scene_plate) return p.offset;
  }
  return {};
}

/// A target: every plate's cross where it lands; the chosen one can be dragged.
void register_pad(Ui& ui, float side) {
  Session& s = ui.session;
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const ImVec2 at = ImGui::GetCursorScreenPos(), c{at.x + side / 2, at.y + side / 2};
  const float per_mm = side / (2 * kPadRangeMm);
  ImGui::InvisibleButton("pad", {side, side});
  const bool hovered = ImGui::IsItemHovered();
  note_place(ui, "register");
  draw->AddRectFilled(at, {at.x + side, at.y + side}, grey(31), ui.px(4));
  draw->PushClipRect(at, {at.x + side, at.y + side}, true);
  for (const float mm : {0.1F, 0.25F, 0.5F}) draw->AddCircle(c, mm * per_mm, grey(62), 64, ui.px(1));
  draw->AddLine({at.x, c.y}, {at.x + side, c.y}, grey(62));
  draw->AddLine({c.x, at.y}, {c.x, at.y + side}, grey(62));
  const std::vector<RegisterOffset> offsets = s.offsets();
  for (std::size_t i = 0; i < offsets.size(); ++i) {
    const bool chosen = static_cast<int>(i) == s.selected;
    const ImVec2 p{c.x + static_cast<float>(offsets[i].dx.v) * per_mm,
                   c.y + static_cast<float>(offsets[i].dy.v) * per_mm};
    const float arm = ui.px(chosen ? 11 : 7);
    const ImU32 under = grey(chosen ? 250 : 120);
    draw->AddCircleFilled(p, ui.px(chosen ? 6 : 4), under, 24);
    draw->AddCircleFilled(p, ui.px(chosen ? 4.5F : 3),
                          ui.window.ink_colours.size() > i ? ui.window.ink_colours[i] : under, 24);
    draw->AddLine({p.x - arm, p.y}, {p.x + arm, p.y}, under, ui.px(1.2F));
    draw->AddLine({p.x, p.y - arm}, {p.x, p.y + arm}, under, ui.px(1.2F));
  }
  draw->PopClipRect();
  draw->AddText(ui.look.small, ui.look.small->FontSize, {at.x + ui.px(5), at.y + side - ui.px(17)},
                kQuietText, "rings 0.1, 0.25, 0.5 mm");
  if (ImGui::IsItemActivated()) s.begin_drag();
  if (ImGui::IsItemActive() && ImGui::IsMouseDragging(0, 0)) {
    const ImVec2 moved = ImGui::GetIO().MouseDelta;
    if (moved.x != 0 || moved.y != 0) {
      RegisterOffset o = setup_of(s, s.selected);
      const double fine = ImGui::GetIO().KeyShift ? 0.1 : 1;
      o.dx.v =
          std::clamp(o.dx.v + fine * static_cast<double>(moved.x / per_mm), -kMostOffsetMm, kMostOffsetMm);
      o.dy.v =
          std::clamp(o.dy.v + fine * static_cast<double>(moved.y / per_mm), -kMostOffsetMm, kMostOffsetMm);
      set_offset(s, o);
    }
  }
  if (ImGui::IsItemDeactivated()) s.end_drag();
  if (hovered && !ImGui::IsItemActive())
    ImGui::SetTooltip("drag: the chosen plate's set-up, mm (Shift: a tenth)");
}

/// A number that can be dragged or typed; one step of undo for each drag.
bool drag_number(Ui& ui, const char* label, double& v, float speed, double low, double high,
                 const char* format, const char* help) {
  ImGui::SetNextItemWidth(ui.px(68));
  const bool changed = ImGui::DragScalar(label, ImGuiDataType_Double, &v, speed, &low, &high, format,
                                         ImGuiSliderFlags_AlwaysClamp);
  if (ImGui::IsItemActivated()) ui.session.begin_drag();
  if (ImGui::IsItemDeactivated()) ui.session.end_drag();
  if (ImGui::IsItemHovered() && !ImGui::IsItemActive()) ImGui::SetTooltip("%s", help);
  return changed;
}

void setup_numbers(Ui& ui) {
  Session& s = ui.session;
  RegisterOffset o = setup_of(s, s.selected);
  heading(
      fmt::format("Set-up: {}", printable(s.build()->plates()[static_cast<std::size_t>(s.selected)].name, 20))
          .c_str(),
      ui.look);
  bool changed = drag_number(ui, "mm right", o.dx.v, 0.002F, -kMostOffsetMm, kMostOffsetMm, "%.3f",
                             "how far right of register the screen stands, mm");
  changed = drag_number(ui, "mm down", o.dy.v, 0.002F, -kMostOffsetMm, kMostOffsetMm, "%.3f",
                        "how far below register the screen stands, mm") ||
            changed;
  changed = drag_number(ui, "\u00b0 turned", o.turn_deg, 0.002F, -kMostTurnDeg, kMostTurnDeg, "%.3f",
                        "clockwise, about the middle of the print, degrees") ||
            changed;
  if (changed) set_offset(s, o);
  if (ImGui::Button("In register")) {
    Edits e = s.edits();
    for (const PrintingPlate& p : s.build()->plates()) e.plates[p.name].offset = RegisterOffset{};
    s.edit(e);
  }
  tip("all plates where they belong");
}

void shirt_after_shirt(Ui& ui) {
  Session& s = ui.session;
  heading("Shirt after shirt", ui.look);
  if (ImGui::Button(s.playing() ? "Pause" : "Run", {ui.px(58), 0})) {
    if (s.playing())
      s.stop_playing();
    else
      s.play(true);
  }
  tip("Space: the press's own shifts, shirt after shirt");
  ImGui::SameLine(0, ui.px(3));
  if (ImGui::Button("\u2190")) s.show_shirt(s.shirt() > 0 ? s.shirt() - 1 : 0);
  tip("comma: the shirt before");
  ImGui::SameLine(0, ui.px(3));
  if (ImGui::Button("\u2192")) s.show_shirt(s.shirt() + 1);
  tip("full stop: the next shirt");
  ImGui::SameLine(0, ui.px(8));
  ImGui::AlignTextToFramePadding();
  if (s.shirt() == 0)
    ImGui::TextUnformatted("as set up");
  else
    ImGui::Text("shirt %u", s.shirt());
  ImGui::PushFont(ui.look.small);
  const PressPreset& press = s.scene().press.preset;
  ImGui::TextUnformatted(press.name.c_str());
  ImGui::Text("holds \u00b1%.2f mm, %d heads", 2.5 * s.register_run().model().pair_sigma.v, press.heads);
  ImGui::PopFont();
  ImGui::SetNextItemWidth(ui.px(64));
  ImGui::InputInt("shirts", &ui.window.run_shirts, 0);
  ui.window.run_shirts = std::clamp(ui.window.run_shirts, 1, 100000);
  ImGui::SameLine(0, ui.px(6));
  if (s.run_busy()) {
    if (ImGui::Button("Stop")) s.cancel_run();
    ImGui::SameLine();
    ImGui::ProgressBar(static_cast<float>(s.run_share()), {ui.px(80), ui.px(8)}, "");
  } else if (ImGui::Button("Print the order")) {
    s.start_run(ui.window.run_shirts);
  }
  note_place(ui, "order");
  tip("R: on how many of them the shirt or the base shows");
}

void findings(Ui& ui) {
  Session& s = ui.session;
  if (!s.findings()) {
    if (s.run_busy())
      quiet("Looking...", ui.look);
    else if (ImGui::Button("Look them over"))
      s.start_check();
    tip("what an operator would send back");
    return;
  }
  const std::vector<Finding>& all = s.findings()->findings;
  if (all.empty()) quiet("Nothing to send back.", ui.look);
  ImGui::PushFont(ui.look.small);
  for (std::size_t i = 0; i < std::min(all.size(), kFindingsShown); ++i) {
    const Finding& f = all[i];
    ImGui::PushID(static_cast<int>(i));
    ImGui::PushStyleColor(ImGuiCol_Text, f.severity == FindingSeverity::advice      ? kQuietText
                                         : f.severity == FindingSeverity::sent_back ? kAttention
                                                                                    : kInkText);
    const std::string line = cut_to(ui.look.small, f.what, ImGui::GetContentRegionAvail().x);
    if (ImGui::Selectable(line.c_str())) s.show_finding(i);
    ImGui::PopStyleColor();
    if (ImGui::IsItemHovered()) {
      ImGui::BeginTooltip();
      ImGui::PushTextWrapPos(ui.px(360));
      ImGui::Text("%s: %s", std::string(to_string(f.severity)).c_str(), f.what.c_str());
      if (!f.remedy.empty()) ImGui::Text("remedy: %s", f.remedy.c_str());
      ImGui::TextDisabled("%s", f.provenance.c_str());
      ImGui::PopTextWrapPos();
      ImGui::EndTooltip();
    }
    ImGui::PopID();
  }
  ImGui::PopFont();
}

void result(Ui& ui) {
  Session& s = ui.session;
  if (chip("The order", !ui.window.shows_findings, ui.look)) ui.window.shows_findings = false;
  ImGui::SameLine(0, ui.px(2));
  if (chip("The plates", ui.window.shows_findings, ui.look)) {
    ui.window.shows_findings = true;
    if (!s.findings() && !s.run_busy()) s.start_check();
  }
  tip("K: what an operator would send back");
  if (ui.window.shows_findings) {
    findings(ui);
    return;
  }
  if (!s.run_result()) {
    quiet(s.run_busy() ? "Printing it..." : "Not printed yet.", ui.look);
    return;
  }
  const RunResult& r = *s.run_result();
  ImGui::PushFont(ui.look.small);
  ImGui::PushTextWrapPos(0);
  ImGui::TextUnformatted(r.sentence.c_str());
  ImGui::PopTextWrapPos();
  ImGui::PopFont();
  if (r.run.showing.worst >= 0 &&
      ImGui::Button(fmt::format("Worst: shirt {}", r.run.showing.worst + 1).c_str()))
    s.show_worst();
  tip("W: go there");
}

void screen_settings(Ui& ui) {
  Session& s = ui.session;
  const PrintingPlate& plate = s.build()->plates()[static_cast<std::size_t>(s.selected)];
  const ScenePass* pass = nullptr;
  for (const ScenePass& p : s.scene().passes) {
    if (p.plate == plate.scene_plate) {
      pass = &p;
      break;
    }
  }
  if (pass == nullptr) return;
  PlateEdit e = s.plate_edit(s.selected);
  bool changed = false;
  heading(fmt::format("Screen {}: {}", s.selected + 1, printable(plate.name, 20)).c_str(), ui.look);
  const float wide = ui.px(168);
  ImGui::SetNextItemWidth(wide);
  if (ImGui::BeginCombo("ink", pass->ink.name.c_str())) {
    for (const std::string& id : s.library().ids("inks")) {
      if (ImGui::Selectable(id.c_str(), id == pass->ink.id)) {
        e.ink = id;
        changed = true;
      }
    }
    ImGui::EndCombo();
  }
  ImGui::SetNextItemWidth(wide);
  if (ImGui::BeginCombo("mesh", pass->mesh.id.c_str())) {
    for (const std::string& id : s.library().ids("meshes")) {
      if (ImGui::Selectable(id.c_str(), id == pass->mesh.id)) {
        e.mesh = id;
        changed = true;
      }
    }
    ImGui::EndCombo();
  }
  tip("threads per cm - thread in um");
  double lpi = pass->halftone.lpi, angle = pass->halftone.angle_deg, hiding = e.hiding.value_or(1),
         spread = pass->ink_spread.value_or(pass->ink.ink_spread).v;
  if (drag_number(ui, "lpi", lpi, 0.1F, kLeastLpi, kMostLpi, "%.1f", "line count, lines per inch")) {
    e.lpi = lpi;
    changed = true;
  }
  ImGui::SameLine(0, ui.px(12));
  if (drag_number(ui, "\u00b0 angle", angle, 0.1F, -180, 180, "%.1f", "of the halftone, degrees")) {
    e.angle_deg = angle;
    changed = true;
  }
  if (drag_number(ui, "um spread", spread, 0.2F, kLeastSpreadUm, kMostSpreadUm, "%.0f",
                  "how far its printed edges move outward, um:\nplates overlap by what both spread")) {
    e.spread_um = spread;
    changed = true;
  }
  ImGui::SameLine(0, ui.px(12));
  if (drag_number(ui, "x hiding", hiding, 0.005F, kLeastHiding, kMostHiding, "%.2f",
                  "pigment of the ink: its K and S times this")) {
    e.hiding = std::abs(hiding - 1) < 1e-9 ? std::nullopt : std::optional<double>(hiding);
    changed = true;
  }
  if (pass->ink.agent_g_cm3 > 0) {
    double hours = s.scene().discharge.pot_hours;
    if (drag_number(ui, "h since mixed", hours, 0.02F, 0, 200, "%.1f",
                    "hours since the agent was mixed in: it weakens in the pot")) {
      Edits all = s.edits();
      all.pot_hours = hours;
      s.edit(all);
    }
  }
  if (changed) s.edit_plate(s.selected, e);
}

}  // namespace

void draw_press(Ui& ui) {
  begin_panel("##press", ui.layout.press, ui.look, grey(37));
  if (ui.session.is_open()) {
    const float side = ui.layout.press.height - ui.px(20);
    register_pad(ui, side);
    const float x = ui.layout.press.x + ui.px(12), y = ui.layout.press.y + ui.px(10);
    float at = x + side + ui.px(16);
    const auto next = [&](float width, void (*draw)(Ui&)) {
      if (at + ui.px(80) > ui.layout.press.right()) return;
      ImGui::SetCursorScreenPos({at, y});
      ImGui::PushClipRect({at, y}, {ui.layout.press.right(), ui.layout.press.bottom()}, true);
      ImGui::BeginChild(ImGui::GetID(reinterpret_cast<const void*>(static_cast<std::intptr_t>(at))),
                        {std::min(ui.px(width), ui.layout.press.right() - at), side}, false,
                        ImGuiWindowFlags_NoScrollbar);
      draw(ui);
      ImGui::EndChild();
      ImGui::PopClipRect();
      at += ui.px(width + 14);
    };
    next(136, setup_numbers);
    next(276, screen_settings);
    next(214, shirt_after_shirt);
    next(400, result);
  }
  end_panel();
}

}  // namespace kirtle
