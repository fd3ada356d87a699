// Scene, shirt, light, what is shown, and what was changed.
#include "panels/panel.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

namespace {

constexpr const char* kLights[] = {"D50", "D65", "A", "F11", "LED-B3"};
constexpr const char* kLightTips[] = {"D50: daylight of a viewing booth", "D65: daylight at noon",
                                      "A: filament lamp", "F11: shop fluorescent", "LED-B3: white LED"};

void shirts_to_wear(Ui& ui) {
  Session& s = ui.session;
  std::vector<std::string> ids{s.file_scene().shirt.id};
  for (const Cloth& c : s.file_scene().other_shirts) ids.push_back(c.id);
  const std::string now = s.scene().shirt.id;  // its own: wear() puts another scene in place
  if (std::find(ids.begin(), ids.end(), now) == ids.end()) ids.push_back(now);
  if (ids.size() > 6) ids.resize(6);
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const float r = ui.px(11);
  const auto wear = [&](const std::string& id) {
    Edits e = s.edits();
    e.shirt = id == s.file_scene().shirt.id ? std::nullopt : std::optional<std::string>(id);
    s.edit(e);
  };
  for (const std::string& id : ids) {
    ImGui::PushID(id.c_str());
    const ImVec2 at = ImGui::GetCursorScreenPos();
    if (ImGui::InvisibleButton("shirt", {2 * r + ui.px(4), 2 * r + ui.px(4)})) wear(id);
    const ImVec2 c{at.x + r + ui.px(2), at.y + r + ui.px(2)};
    draw->AddCircleFilled(c, r, shirt_colour(ui, id), 32);
    draw->AddCircle(c, r + ui.px(id == now ? 2.5F : 0.5F), id == now ? grey(245) : grey(110), 32,
                    ui.px(id == now ? 2 : 1));
    note_place(ui, "shirt " + id);
    tip(("shirt: " + id).c_str());
    ImGui::PopID();
    ImGui::SameLine(0, ui.px(4));
  }
  ImGui::SetNextItemWidth(ui.px(168));
  if (ImGui::BeginCombo("##shirts", s.scene().shirt.name.c_str())) {
    for (const std::string& id : s.library().ids("shirts")) {
      ImGui::PushID(id.c_str());
      const ImVec2 at = ImGui::GetCursorScreenPos();
      if (ImGui::Selectable(("      " + id).c_str(), id == now)) wear(id);
      ImGui::GetWindowDrawList()->AddRectFilled({at.x + ui.px(2), at.y + ui.px(1)},
                                                {at.x + ui.px(18), at.y + ui.px(15)}, shirt_colour(ui, id),
                                                ui.px(2));
      ImGui::PopID();
    }
    ImGui::EndCombo();
  }
  tip("the shirt it prints on");
}

void lights(Ui& ui) {
  Session& s = ui.session;
  for (int i = 0; i < 5; ++i) {
    const std::string light = kLights[i];
    const bool main = s.scene().light == light;
    const auto beside = std::find(s.lights_beside.begin(), s.lights_beside.end(), light);
    if (i > 0) ImGui::SameLine(0, ui.px(2));
    if (chip(kLights[i], main || beside != s.lights_beside.end(), ui.look)) {
      if (ImGui::GetIO().KeyCtrl || ImGui::GetIO().KeyShift) {
        s.toggle_light_beside(light);
      } else {
        Edits e = s.edits();
        e.light = light == s.file_scene().light ? std::nullopt : std::optional<std::string>(light);
        s.edit(e);
        s.lights_beside.clear();
      }
    }
    tip((std::string(kLightTips[i]) + "\nwith Ctrl: beside the other light").c_str());
  }
}

void modes(Ui& ui) {
  Session& s = ui.session;
  if (chip("Print", s.mode == Mode::print, ui.look)) s.set_mode(Mode::print);
  tip("the print on the shirt");
  ImGui::SameLine(0, ui.px(2));
  if (chip("Films", s.mode == Mode::plates, ui.look)) s.set_mode(Mode::plates);
  tip("each plate as its film positive");
  ImGui::SameLine(0, ui.px(2));
  if (chip("Against", s.mode == Mode::against, ui.look)) s.set_against(s.against);
  tip("a line across the print: against the film, another shirt, or the file as it was");
  if (s.mode != Mode::against) return;
  ImGui::SameLine(0, ui.px(6));
  ImGui::SetNextItemWidth(ui.px(128));
  const std::string now = s.against == Against::plates ? "its film"
                          : s.against == Against::file ? "the file as it was"
                                                       : s.against_shirt;
  if (ImGui::BeginCombo("##against", now.c_str())) {
    if (ImGui::Selectable("its film", s.against == Against::plates)) s.set_against(Against::plates);
    if (ImGui::Selectable("the file as it was", s.against == Against::file)) s.set_against(Against::file);
    for (const Cloth& c : s.file_scene().other_shirts) {
      if (ImGui::Selectable(c.id.c_str(), s.against == Against::shirt && s.against_shirt == c.id))
        s.set_against(Against::shirt, c.id);
    }
    ImGui::EndCombo();
  }
}

}  // namespace

void draw_top_bar(Ui& ui) {
  begin_panel("##top", ui.layout.top, ui.look, grey(33));
  Session& s = ui.session;
  ImGui::SetCursorPosY(0.5F * (ui.layout.top.height - ImGui::GetFrameHeight()));
  if (s.is_open()) {
    ImGui::AlignTextToFramePadding();
    const std::vector<std::string> changed = differences(s.file_scene(), s.edits());
    ImGui::PushFont(ui.look.strong);
    ImGui::TextUnformatted(printable(s.scene().title, 60).c_str());
    ImGui::PopFont();
    tip((printable(s.file_scene().file.string(), 300) + "\n" + printable(s.scene().note, 300)).c_str());
    if (!changed.empty()) {
      ImGui::SameLine(0, ui.px(6));
      ImGui::PushStyleColor(ImGuiCol_Text, kAttention);
      ImGui::Text("%zu changed", changed.size());
      ImGui::PopStyleColor();
      std::string all = "differs from the file:";
      for (const std::string& c : changed) all += "\n  " + c;
      tip(all.c_str());
    }
    ImGui::SameLine(0, ui.px(22));
    modes(ui);
    ImGui::SameLine(0, ui.px(22));
    shirts_to_wear(ui);
    ImGui::SameLine(0, ui.px(22));
    lights(ui);
    ImGui::SameLine(0, ui.px(22));
    ImGui::BeginGroup();
    if (ImGui::Button("Undo")) s.undo();
    tip("Ctrl+Z");
    ImGui::SameLine(0, ui.px(2));
    if (ImGui::Button("Redo")) s.redo();
    tip("Ctrl+Y");
    ImGui::SameLine(0, ui.px(2));
    if (ImGui::Button("Save as")) ui.window.asks_save = true;
    tip("Ctrl+S: as a new scene");
    ImGui::SameLine(0, ui.px(2));
    if (ImGui::Button("?")) ui.window.show_help = !ui.window.show_help;
    tip("F1: all keys");
    ImGui::EndGroup();
  } else {
    ImGui::AlignTextToFramePadding();
    heading("kirtle-view", ui.look);
    ImGui::SameLine();
    if (ImGui::Button("Open a scene")) ui.window.asks_open = true;
  }
  end_panel();
}

}  // namespace kirtle
