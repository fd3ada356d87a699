#include "command_line.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <fmt/format.h>

namespace kirtle {

namespace {

[[noreturn]] void refuse(const std::string& what, const std::string& remedy) {
  throw InputError({}, what, remedy);
}

std::vector<double> numbers(const std::string& text, std::size_t count, const char* option,
                            const char* shape) {
  std::vector<double> out;
  const char* at = text.data();
  const char* end = text.data() + text.size();
  while (at < end) {
    double v = 0;
    const auto [next, error] = std::from_chars(at, end, v);
    if (error != std::errc{}) break;
    out.push_back(v);
    at = next < end && *next == ',' ? next + 1 : next;
    if (at == next && next < end) break;
  }
  if (at != end || out.size() != count)
    refuse(fmt::format("{} \"{}\" is not {}", option, printable(text), shape),
           "separate the numbers by commas");
  return out;
}

int plate_of(const Session& s, const std::string& name) {
  const auto& plates = s.build()->plates();
  for (std::size_t i = 0; i < plates.size(); ++i) {
    if (plates[i].name == name) return static_cast<int>(i);
  }
  std::string known;
  for (const PrintingPlate& p : plates) known += (known.empty() ? "" : ", ") + p.name;
  refuse(fmt::format("no plate is called \"{}\"", printable(name)), "plates of this scene: " + known);
}

void set_view(Session& s, const std::string& view, double w, double h) {
  if (view == "fit")
    s.fit(w, h, false);
  else if (view == "garment")
    s.fit(w, h, true);
  else {
    const std::vector<double> v =
        numbers(view, 3, "--view", "fit, garment, or X,Y,SCALE: mm, mm, pixels a mm");
    s.look_at({v[0], v[1]}, v[2]);
  }
}

/// "red.offset=0.1,0", "red.lpi=45", "red.mesh=90-48".
void set_key(Session& s, const std::string& text) {
  const std::size_t equals = text.find('='), dot = text.rfind('.', equals);
  if (equals == std::string::npos || dot == std::string::npos)
    refuse("--set \"" + printable(text) + "\" is not PLATE.KEY=VALUE", "for example red.lpi=45");
  const int plate = plate_of(s, text.substr(0, dot));
  const std::string key = text.substr(dot + 1, equals - dot - 1), value = text.substr(equals + 1);
  PlateEdit e = s.plate_edit(plate);
  const auto number = [&] { return numbers(value, 1, "--set", "a number").front(); };
  if (key == "offset") {
    const std::vector<double> v = numbers(value, 2, "--set", "two numbers, mm right and down");
    e.offset = RegisterOffset{{v[0]}, {v[1]}, 0, 0, 0};
  } else if (key == "lpi")
    e.lpi = number();
  else if (key == "angle")
    e.angle_deg = number();
  else if (key == "hiding")
    e.hiding = number();
  else if (key == "spread")
    e.spread_um = number();
  else if (key == "mesh")
    e.mesh = value;
  else if (key == "ink")
    e.ink = value;
  else
    refuse("--set knows no key \"" + printable(key) + "\"", "offset, lpi, angle, hiding, spread, mesh, ink");
  s.edit_plate(plate, e);
}

}  // namespace

void throw_if_failed(const Session& s) {
  Diagnostics faults;
  for (const Message& m : s.messages()) {
    if (m.severity == Severity::error) faults.error({}, m.text);
  }
  faults.throw_if_errors();
}

std::optional<int> read_arguments(int argc, char** argv, ViewerArguments& out) {
  CLI::App app{"kirtle-view: the predicted print on the table, its plates beside it, the press shaking"};
  std::string size;
  const auto file = [&](const char* name, std::optional<std::filesystem::path>& to, const char* help) {
    app.add_option_function<std::string>(
        name, [&to](const std::string& v) { to = v; }, help);
  };
  const auto word = [&](const char* name, std::optional<std::string>& to, const char* help) {
    app.add_option_function<std::string>(
        name, [&to](const std::string& v) { to = v; }, help);
  };
  app.add_option_function<std::string>(
      "SCENE", [&](const std::string& v) { out.scene = v; }, "scene.toml, or its folder");
  file("--shot", out.shot, "draw one picture into this PNG, without a window");
  app.add_option("--size", size, "window or picture, pixels: 1600x1000");
  app.add_option_function<double>(
         "--scale",
         [&](double v) {
           out.scale = v;
           out.scale_given = true;
         },
         "size of text, 1 = 96 dots per inch")
      ->check(CLI::Range(0.5, 4.0));
  app.add_option("--view", out.view, "fit, garment, or X,Y,SCALE: mm, mm, pixels a mm");
  app.add_option("--mode", out.mode, "print, films, against")
      ->check(CLI::IsMember({"print", "films", "against"}));
  word("--shirt", out.shirt, "id of a shirt");
  word("--light", out.light, "D50, D65, A, F1 .. F12, LED-B3");
  app.add_option("--beside", out.beside, "lights beside it, at most 2")->delimiter(',');
  word("--against", out.against, "right of the line: film, file, or a shirt's id");
  app.add_option("--line", out.line, "place of the line, 0..1")->expected(1);
  app.add_option("--up", out.up, "plates whose heads are up")->delimiter(',');
  word("--only", out.only, "this plate's screen only");
  word("--chosen", out.chosen, "the plate that is chosen");
  app.add_option("--set", out.set,
                 "an edit: PLATE.KEY=VALUE, keys offset, lpi, angle, hiding, spread, mesh, ink");
  app.add_option("--point", out.point, "read this place, mm")->delimiter(',')->expected(2);
  app.add_option("--pin", out.pin, "pin this place, mm")->delimiter(',')->expected(2);
  app.add_option("--shirt-number", out.shirt_number, "that shirt of the run; 0 = as set up");
  app.add_option("--order", out.order, "print an order of so many shirts first")
      ->check(CLI::Range(1, 100000));
  app.add_flag("--worst", out.worst, "go to the worst shirt of the order");
  app.add_flag("--check", out.check, "look the plates over first, and list what an operator would send back");
  app.add_flag("--plain", out.plain, "the print alone, without panels");
  app.add_flag("--keys", out.keys, "with the list of keys");
  app.add_option("--frames", out.frames,
                 "measure the opening and so many frames; median, 99th percentile, longest")
      ->check(CLI::Range(2, 100000));
  app.add_option("--moving", out.moving, "what moves while measuring: shirts, pan")
      ->check(CLI::IsMember({"shirts", "pan"}));
  file("--profile", out.profile, "ICC profile of the monitor; without, the picture is sRGB");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    const int status = app.exit(e);
    return status == 0 ? 0 : 2;
  }
  if (!size.empty()) {
    int w = 0, h = 0;
    if (std::sscanf(size.c_str(), "%dx%d", &w, &h) != 2 || w < 320 || h < 240 || w > 16000 || h > 16000)
      refuse("--size \"" + printable(size) + "\" is not a size", "write 1600x1000; 320x240 to 16000x16000");
    out.width = w;
    out.height = h;
  }
  return std::nullopt;
}

void apply(const ViewerArguments& a, Session& s, double w, double h) {
  if (a.scene.empty()) return;
  s.open(a.scene);
  s.settle();
  throw_if_failed(s);
  s.clear_messages();
  Edits e = s.edits();
  if (a.shirt && *a.shirt != s.file_scene().shirt.id) e.shirt = a.shirt;
  if (a.light && *a.light != s.file_scene().light) e.light = a.light;
  s.edit(e);
  for (const std::string& key : a.set) set_key(s, key);
  if (a.chosen) s.selected = plate_of(s, *a.chosen);
  if (a.only) s.only(plate_of(s, *a.only));
  for (const std::string& name : a.up) s.set_head(plate_of(s, name), Head::up);
  for (const std::string& light : a.beside)
    s.toggle_light_beside(viewing_weights(light, s.scene().observer).light);
  if (a.mode == "films") s.set_mode(Mode::plates);
  if (a.mode == "against" || a.against) {
    const std::string what = a.against.value_or("film");
    s.set_against(what == "film"   ? Against::plates
                  : what == "file" ? Against::file
                                   : Against::shirt,
                  what == "film" || what == "file" ? "" : what);
  }
  if (!a.line.empty()) s.line = std::clamp(a.line.front(), 0.0, 1.0);
  set_view(s, a.view, w, h);
  if (a.shirt_number > 0) s.show_shirt(a.shirt_number);
  s.settle();
  if (a.order > 0) {
    s.start_run(a.order);
    s.settle();
    if (a.worst) s.show_worst();
    s.settle();
  }
  if (a.check) s.start_check();
  if (a.worst && a.point.empty()) s.point_at(s.view.centre);
  s.settle();
  if (!a.pin.empty()) {
    s.point_at(PointMm{a.pin[0], a.pin[1]});
    s.settle();
    s.pin();
  }
  if (!a.point.empty()) s.point_at(PointMm{a.point[0], a.point[1]});
  s.settle();
  throw_if_failed(s);
}

}  // namespace kirtle
