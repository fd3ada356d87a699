#include "edits.h"

#include "predict/prediction.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

namespace {

bool same(const RegisterOffset& a, const RegisterOffset& b) {
  return a.dx == b.dx && a.dy == b.dy && a.turn_deg == b.turn_deg && a.stretch_x == b.stretch_x &&
         a.stretch_y == b.stretch_y;
}

void require(const char* what, const std::string& plate, double v, double low, double high,
             Diagnostics& faults) {
  if (v >= low && v <= high) return;
  faults.error({}, fmt::format("{} of plate \"{}\" is {:g}; it must be {:g} to {:g}", what, printable(plate),
                               v, low, high));
}

void apply(ScenePass& pass, const std::string& name, const PlateEdit& e, Library& library,
           Diagnostics& faults) {
  if (e.ink) {
    if (const Ink* ink = library.ink(*e.ink, {}, faults)) pass.ink = *ink;
  }
  if (e.mesh) {
    if (const Mesh* mesh = library.mesh(*e.mesh, {}, faults)) {
      pass.mesh = *mesh;
      pass.wet_deposit.reset();  // the deposit is the new mesh's
    }
  }
  if (e.lpi) {
    require("line count", name, *e.lpi, kLeastLpi, kMostLpi, faults);
    pass.halftone.lpi = *e.lpi;
  }
  if (e.angle_deg) {
    require("angle", name, *e.angle_deg, -180, 180, faults);
    pass.halftone.angle_deg = *e.angle_deg;
  }
  if (e.hiding) {
    require("hiding", name, *e.hiding, kLeastHiding, kMostHiding, faults);
    for (std::size_t b = 0; b < kBands; ++b) {
      pass.ink.optics.k[b] *= *e.hiding;
      pass.ink.optics.s[b] *= *e.hiding;
    }
  }
  if (e.spread_um) {
    require("ink spread", name, *e.spread_um, kLeastSpreadUm, kMostSpreadUm, faults);
    pass.ink_spread = Um{*e.spread_um};
  }
  if (e.offset) {
    require("set-up to the right", name, e.offset->dx.v, -kMostOffsetMm, kMostOffsetMm, faults);
    require("set-up downward", name, e.offset->dy.v, -kMostOffsetMm, kMostOffsetMm, faults);
    require("turn", name, e.offset->turn_deg, -kMostTurnDeg, kMostTurnDeg, faults);
    pass.offset = *e.offset;
  }
}

}  // namespace

bool operator==(const PlateEdit& a, const PlateEdit& b) {
  return a.ink == b.ink && a.mesh == b.mesh && a.lpi == b.lpi && a.angle_deg == b.angle_deg &&
         a.hiding == b.hiding && a.spread_um == b.spread_um && a.offset.has_value() == b.offset.has_value() &&
         (!a.offset || same(*a.offset, *b.offset));
}

bool Edits::empty() const {
  return !shirt && !light && !pot_hours &&
         std::all_of(plates.begin(), plates.end(), [](const auto& p) { return p.second.empty(); });
}

Scene edited(Scene scene, const Edits& edits, Library& library) {
  Diagnostics faults;
  if (edits.shirt) {
    if (const Cloth* shirt = library.shirt(*edits.shirt, {}, faults)) scene.shirt = *shirt;
  }
  if (edits.light) scene.light = viewing_weights(*edits.light, scene.observer).light;
  if (edits.pot_hours) {
    if (!(*edits.pot_hours >= 0 && *edits.pot_hours <= 200))
      faults.error({}, fmt::format("hours since the agent was mixed in are {:g}; they must be 0 to 200",
                                   *edits.pot_hours));
    scene.discharge.pot_hours = *edits.pot_hours;
  }
  for (const auto& [name, edit] : edits.plates) {
    for (ScenePass& pass : scene.passes) {
      if (scene.plates[static_cast<std::size_t>(pass.plate)].name == name)
        apply(pass, name, edit, library, faults);
    }
  }
  faults.throw_if_errors();
  return scene;
}

std::vector<std::string> differences(const Scene& file, const Edits& edits) {
  std::vector<std::string> out;
  if (edits.shirt) out.push_back(fmt::format("shirt: {} \u2192 {}", file.shirt.id, *edits.shirt));
  if (edits.light) out.push_back(fmt::format("light: {} \u2192 {}", file.light, *edits.light));
  if (edits.pot_hours)
    out.push_back(
        fmt::format("agent: mixed {:g} h ago \u2192 {:g} h", file.discharge.pot_hours, *edits.pot_hours));
  for (const auto& [name, e] : edits.plates) {
    const auto pass = std::find_if(file.passes.begin(), file.passes.end(), [&](const ScenePass& p) {
      return file.plates[static_cast<std::size_t>(p.plate)].name == name;
    });
    if (pass == file.passes.end()) continue;
    if (e.ink) out.push_back(fmt::format("{}: ink {} \u2192 {}", name, pass->ink.id, *e.ink));
    if (e.mesh) out.push_back(fmt::format("{}: mesh {} \u2192 {}", name, pass->mesh.id, *e.mesh));
    if (e.lpi)
      out.push_back(fmt::format("{}: {:g} \u2192 {:g} lines per inch", name, pass->halftone.lpi, *e.lpi));
    if (e.angle_deg)
      out.push_back(fmt::format("{}: angle {:g}\u00b0 \u2192 {:g}\u00b0", name, pass->halftone.angle_deg,
                                *e.angle_deg));
    if (e.hiding) out.push_back(fmt::format("{}: hiding \u00d7 {:.2f}", name, *e.hiding));
    if (e.spread_um) {
      out.push_back(fmt::format("{}: ink spread {:g} \u2192 {:g} um", name,
                                pass->ink_spread.value_or(pass->ink.ink_spread).v, *e.spread_um));
    }
    if (e.offset) {
      out.push_back(fmt::format("{}: set-up {:.2f}, {:.2f} mm \u2192 {:.2f}, {:.2f} mm, turn {:.2f}\u00b0",
                                name, pass->offset.dx.v, pass->offset.dy.v, e.offset->dx.v, e.offset->dy.v,
                                e.offset->turn_deg));
    }
  }
  return out;
}

}  // namespace kirtle
