// The screens in head order, round the shirt as they hang round a press: up the left side, down the right.
#include "panels/panel.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

namespace {

/// An arm of the press from a card towards the shirt.
void draw_arm(ImDrawList* draw, const Ui& ui, float from_x, float y, bool to_right, bool down) {
  const float reach = ui.px(down ? 26 : 12) * (to_right ? 1.0F : -1.0F), half = ui.px(7);
  const ImVec2 p[4] = {{from_x, y - half},
                       {from_x + reach, y - half * 0.4F},
                       {from_x + reach, y + half * 0.4F},
                       {from_x, y + half}};
  draw->AddConvexPolyFilled(p, 4, grey(down ? 96 : 70, 210));
}

void draw_card(Ui& ui, int plate, const Area& card, bool on_left) {
  Session& s = ui.session;
  const PrintingPlate& p = s.build()->plates()[static_cast<std::size_t>(plate)];
  const ScenePass& pass = first_pass_of(s.scene(), p.scene_plate);
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const bool prints = s.prints(plate), selected = s.selected == plate;
  ImGui::PushID(plate);
  draw->AddRectFilled({card.x, card.y}, {card.right(), card.bottom()}, selected ? grey(74) : kRaised,
                      ui.px(5));
  if (selected)
    draw->AddRect({card.x, card.y}, {card.right(), card.bottom()}, grey(220), ui.px(5), 0, ui.px(1.5F));

  // The screen's frame with the plate in its ink on this shirt.
  const double ratio = static_cast<double>(s.build()->width()) / s.build()->height();
  const float room_w = card.width - ui.px(16), room_h = card.height - ui.px(78);
  float w = room_w, h = static_cast<float>(room_w / ratio);
  if (h > room_h) {
    h = room_h;
    w = static_cast<float>(room_h * ratio);
  }
  const float x = card.x + 0.5F * (card.width - w), y = card.y + ui.px(27) + 0.5F * (room_h - h);
  draw->AddRectFilled({x - ui.px(3), y - ui.px(3)}, {x + w + ui.px(3), y + h + ui.px(3)}, grey(104),
                      ui.px(2));
  draw->AddRectFilled({x, y}, {x + w, y + h}, ui.window.shirt_colour);
  const GlTexture& picture = ui.window.thumbnails[static_cast<std::size_t>(plate)];
  draw->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::intptr_t>(picture.id())), {x, y},
                 {x + w, y + h});
  if (!prints)
    draw->AddRectFilled({x - ui.px(3), y - ui.px(3)}, {x + w + ui.px(3), y + h + ui.px(3)}, grey(43, 170),
                        ui.px(2));

  draw->AddCircleFilled({card.x + ui.px(15), card.y + ui.px(14)}, ui.px(8),
                        ui.window.ink_colours[static_cast<std::size_t>(plate)], 24);
  draw->AddCircle({card.x + ui.px(15), card.y + ui.px(14)}, ui.px(8), grey(150), 24, ui.px(1));
  const char* flash = !pass.flash_after ? "" : pass.cool_down ? "flash, cool" : "flash";
  const ImVec2 size = ui.look.small->CalcTextSizeA(ui.look.small->FontSize, 1e9F, 0, flash);
  draw->AddText(ui.look.small, ui.look.small->FontSize, {card.right() - size.x - ui.px(8), card.y + ui.px(7)},
                kAttention, flash);
  const std::string title = cut_to(ui.look.strong, fmt::format("{}  {}", plate + 1, printable(p.name, 18)),
                                   card.width - size.x - ui.px(43));
  draw->AddText(ui.look.strong, ui.look.strong->FontSize, {card.x + ui.px(29), card.y + ui.px(5)},
                prints ? kInkText : kQuietText, title.c_str());
  const std::string line1 = cut_to(ui.look.small, pass.ink.name, card.width - ui.px(14));
  const std::string line2 = fmt::format("{} \u00b7 {:g} lpi \u00b7 {:g}\u00b0", pass.mesh.id,
                                        pass.halftone.lpi, pass.halftone.angle_deg);
  draw->PushClipRect({card.x, card.y}, {card.right() - ui.px(4), card.bottom()}, true);
  draw->AddText(ui.look.small, ui.look.small->FontSize, {card.x + ui.px(8), card.bottom() - ui.px(47)},
                kInkText, line1.c_str());
  draw->AddText(ui.look.small, ui.look.small->FontSize, {card.x + ui.px(8), card.bottom() - ui.px(32)},
                kQuietText, line2.c_str());
  draw->PopClipRect();

  // Head down or up; this screen only.
  ImGui::SetCursorScreenPos({card.x + ui.px(6), card.bottom() - ui.px(18)});
  ImGui::PushFont(ui.look.small);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, ImVec2{ui.px(5), ui.px(0)});
  const bool down = s.head(plate) == Head::down;
  if (chip(down ? "head down" : "head up", down && s.only() < 0, ui.look, 72))
    s.set_head(plate, down ? Head::up : Head::down);
  tip(fmt::format("key {}: head down or up", plate + 1).c_str());
  ImGui::SameLine(0, ui.px(3));
  if (chip("only", s.only() == plate, ui.look, 42)) s.only(plate);
  note_place(ui, fmt::format("only {}", plate + 1));
  tip(fmt::format("Shift+{}: this screen only", plate + 1).c_str());
  ImGui::PopStyleVar();
  ImGui::PopFont();
  ImGui::SetCursorScreenPos({card.x, card.y});
  ImGui::SetItemAllowOverlap();
  if (ImGui::InvisibleButton("card", {card.width, card.height - ui.px(20)})) {
    s.selected = plate;
    s.touch();
  }
  tip(fmt::format("{}\n{}, wet deposit {:.0f} um (cm3/m2)", pass.ink.name, pass.mesh.name,
                  wet_deposit_of(pass).v)
          .c_str());
  draw_arm(ImGui::GetForegroundDrawList(), ui, on_left ? ui.layout.left.right() : ui.layout.right.x,
           card.y + 0.5F * card.height, on_left, prints);
  ImGui::PopID();
}

void column(Ui& ui, const char* name, const Area& area, const std::vector<int>& plates, bool on_left) {
  begin_panel(name, area, ui.look);
  if (!plates.empty()) {
    const float gap = ui.px(7), most = ui.px(232);
    const float each = std::min(most, (area.height - gap * static_cast<float>(plates.size() + 1)) /
                                          static_cast<float>(plates.size()));
    const float used = each * static_cast<float>(plates.size()) + gap * static_cast<float>(plates.size() - 1);
    float y = area.y + 0.5F * (area.height - used);
    for (const int plate : plates) {
      draw_card(ui, plate, {area.x + gap, y, area.width - 2 * gap, each}, on_left);
      y += each + gap;
    }
  }
  end_panel();
}

}  // namespace

void draw_screens(Ui& ui) {
  std::vector<int> left, right;
  if (ui.session.is_open()) {
    refresh_thumbnails(ui);
    const int n = static_cast<int>(ui.session.plates()), half = (n + 1) / 2;
    for (int i = half; i-- > 0;) left.push_back(i);  // the first head lowest: shirts travel clockwise
    for (int i = half; i < n; ++i) right.push_back(i);
  }
  column(ui, "##left", ui.layout.left, left, true);
  column(ui, "##right", ui.layout.right, right, false);
}

}  // namespace kirtle
