#include "renderer.h"

#include "garment.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {

enum Unit { kCodes, kDoses, kTones, kValues, kLevels, kMasks, kPyramid, kGarment, kLoupeDose, kStates = 12 };

/// While things move, points farther apart than so many pixels of the plates are read from one pixel each.
constexpr double kNearStep = 1.5;

/// Places within a pixel, each call another: the R2 sequence (Roberts, "The unreasonable effectiveness of
/// quasirandom sequences", 2018, from memory).
void place_within(int pass, float out[2]) {
  constexpr double a = 0.7548776662466927, b = 0.5698402909980532;
  out[0] = static_cast<float>(std::fmod(0.5 + a * pass, 1.0) - 0.5);
  out[1] = static_cast<float>(std::fmod(0.5 + b * pass, 1.0) - 0.5);
}

std::vector<bool> heads_down(const Session& session, std::size_t plates) {
  std::vector<bool> out;
  for (std::size_t i = 0; i < plates; ++i) out.push_back(session.prints(static_cast<int>(i)));
  return out;
}

/// Does what sim has drawn of this build show just what the pane asks for?
bool as_built(const Pane& pane, const Build& build, const std::vector<RegisterOffset>& offsets,
              const std::vector<bool>& down) {
  if (pane.other || pane.film) return false;
  if (!pane.light.empty() && pane.light != build.scene->light) return false;
  if (std::find(down.begin(), down.end(), false) != down.end()) return false;
  for (std::size_t i = 0; i < offsets.size(); ++i) {
    if (offsets[i] != build.plates()[i].cover.offset) return false;
  }
  return true;
}

}  // namespace

double smoothstep(double from, double to, double x) {
  const double t = std::clamp((x - from) / (to - from), 0.0, 1.0);
  return t * t * (3 - 2 * t);
}

Renderer::Renderer() {
  glGenVertexArrays(1, &vertices_);
  glGenBuffers(1, &block_);
  const std::string head = "#version 330 core\n";
  display_ = GlProgram(head + shader_text("quad.vert"), head + shader_text("display.frag"));
  blur_ = GlProgram(head + shader_text("quad.vert"), head + shader_text("blur.frag"));
  const GarmentDrawing& g = garment_drawing();
  garment_ = GlTexture(GL_TEXTURE_2D, GL_LINEAR);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_RG32F, g.columns, g.rows, 0, GL_RG, GL_FLOAT, g.distance.data());
  nothing_ = GlTexture(GL_TEXTURE_2D);
  const float none[4] = {};
  glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA32F, 1, 1, 0, GL_RGBA, GL_FLOAT, none);
  check_gl("starting up");
}

void Renderer::set_profile(std::optional<std::filesystem::path> profile) {
  const DisplayTable checked = make_display_table({96.42, 100, 82.49}, profile);
  profile_ = std::move(profile);
  tables_.clear();
  passes_ = 0;
}

double Renderer::loupe_weight(const Build& build, double px_per_mm) {
  double finest = 0;
  for (const PrintingPlate& plate : build.plates()) finest = std::max(finest, plate.cover.tone.halftone.lpi);
  return smoothstep(kLoupeFrom, kLoupeWhole, px_per_mm * kMmPerInch / finest);
}

std::vector<double> Renderer::frame_key(const Session& session, std::span<const Pane> panes, int width,
                                        int height) const {
  std::vector<double> key{static_cast<double>(session.version()),
                          static_cast<double>(width),
                          static_cast<double>(height),
                          static_cast<double>(settings.points),
                          static_cast<double>(settings.most_points),
                          static_cast<double>(session.shirt()),
                          settings.loupe.value_or(-1)};
  for (const Pane& p : panes) {
    for (const double v :
         {static_cast<double>(p.x), static_cast<double>(p.y), static_cast<double>(p.width),
          static_cast<double>(p.height), static_cast<double>(p.clip_left), static_cast<double>(p.clip_right),
          p.view.centre.x, p.view.centre.y, p.view.px_per_mm, static_cast<double>(p.film),
          static_cast<double>(p.plate), static_cast<double>(p.other), static_cast<double>(p.garment),
          static_cast<double>(std::hash<std::string>{}(p.light) >> 12)})
      key.push_back(v);
  }
  return key;
}

bool Renderer::draw(const Session& session, std::span<const Pane> panes, int width, int height,
                    GLuint framebuffer, int x, int y) {
  glBindVertexArray(vertices_);
  glDisable(GL_DEPTH_TEST);
  glDisable(GL_CULL_FACE);
  if (canvas_.width() != width || canvas_.height() != height) {
    canvas_ = GlCanvas(width, height, GL_RGBA32F, GL_NEAREST);
    passes_ = 0;
  }
  const std::vector<double> key = frame_key(session, panes, width, height);
  const bool moved = key != key_ || passes_ == 0;
  if (moved || coarse_) passes_ = 0;
  key_ = key;
  if (passes_ == 0) {
    glDisable(GL_SCISSOR_TEST);
    canvas_.draw_here();
    glClearColor(0, 0, 0, 0);
    glClear(GL_COLOR_BUFFER_BIT);
  }
  const bool ready = session.is_open() && (settings.processor || session.build()->lattice);
  if (ready && settings.processor && (passes_ < settings.most_passes || soft_coarse_)) {
    draw_softly(session, panes, moved);
  } else if (ready && !settings.processor && passes_ < settings.most_passes) {
    draw_points(session, panes, height, moved);
    ++passes_;
  }
  show(session, panes, framebuffer, x, y);
  return ready && (passes_ < settings.most_passes || soft_coarse_ || coarse_);
}

void Renderer::draw_points(const Session& session, std::span<const Pane> panes, int height, bool moved) {
  if (const double ms = stopwatch_.read(); ms >= 0) {
    point_ms_ = ms / (timed_points_ * timed_points_);
    // With room to spare, and one more a side at most: the next view may take longer.
    const int fit = static_cast<int>(std::sqrt(0.8 * settings.moving_ms / std::max(point_ms_, 1e-6)));
    moving_points_ = std::clamp(fit, 1, moving_points_ + 1);
  }
  const bool few = moved && settings.moving_ms > 0;
  coarse_ = false;
  if (few && stopwatch_.start()) timed_points_ = moving_points_;
  for (const Pane& pane : panes) draw_pane(session, pane, height, few ? moving_points_ : 0);
  if (few) stopwatch_.stop();
}

void Renderer::draw_softly(const Session& session, std::span<const Pane> panes, bool moved) {
  // While things move, four pixels share a colour if a frame would otherwise take more than a tenth of a
  // second.
  const bool coarse = moved && soft_ms_ > 60;
  if (moved || soft_coarse_) {
    soft_canvas_.assign(
        static_cast<std::size_t>(canvas_.width()) * static_cast<std::size_t>(canvas_.height()) * 4, 0.0F);
    passes_ = 0;
  }
  float within[2];
  place_within(passes_, within);
  const auto start = std::chrono::steady_clock::now();
  for (const Pane& pane : panes)
    soft_.add(session, pane, settings, within, coarse ? 2 : 1, soft_canvas_, canvas_.width(),
              canvas_.height());
  const double ms =
      std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
  soft_ms_ = coarse ? 4 * ms : ms;
  soft_coarse_ = coarse;
  ++passes_;
  canvas_.texture().bind(0);
  glTexSubImage2D(GL_TEXTURE_2D, 0, 0, 0, canvas_.width(), canvas_.height(), GL_RGBA, GL_FLOAT,
                  soft_canvas_.data());
}

void Renderer::bind_plates(const GlProgram& program, const Build& build, const PlateTextures& textures,
                           const std::shared_ptr<const Build>& owner) {
  program.use();
  gpu_.tones(owner).bind(kTones);
  textures.code.bind(kCodes);
  textures.dose.bind(kDoses);
  glUniform1i(program.at("u_codes"), kCodes);
  glUniform1i(program.at("u_doses"), kDoses);
  glUniform1i(program.at("u_tones"), kTones);
  glUniform2i(program.at("u_size"), build.width(), build.height());
  glUniform4i(program.at("u_tiles"), textures.tile_width, textures.tile_height, textures.across,
              textures.down);
  glBindBufferBase(GL_UNIFORM_BUFFER, kPlatesBlock, block_);
}

void Renderer::draw_pane(const Session& session, const Pane& pane, int canvas_height, int most_points) {
  const std::shared_ptr<const Build>& build =
      pane.other && session.other_build() ? session.other_build() : session.build();
  if (!build->lattice || pane.width <= 0 || pane.height <= 0) return;
  if (pane.other && !session.other_build()) return;
  const PlateTextures& textures = gpu_.plates(*build);
  const MixTextures& mix = gpu_.mix(*build, pane.light.empty() ? build->scene->light : pane.light);
  const PrintPrograms& programs = gpu_.programs(*build, mix.rank);
  const std::vector<RegisterOffset> offsets = session.offsets();
  const std::vector<bool> down = heads_down(session, build->codes.size());
  const std::vector<PlateBlock> blocks = gpu_.blocks(*build, offsets, down);
  glBindBuffer(GL_UNIFORM_BUFFER, block_);
  glBufferData(GL_UNIFORM_BUFFER, static_cast<GLsizeiptr>(blocks.size() * sizeof(PlateBlock)), blocks.data(),
               GL_STREAM_DRAW);

  const double px_per_mm = build->ppi() / kMmPerInch, step = px_per_mm / pane.view.px_per_mm;
  const double loupe = pane.film ? 0 : settings.loupe.value_or(loupe_weight(*build, pane.view.px_per_mm));
  const GlProgram& program = pane.film ? programs.film : programs.print;
  if (loupe > 0 && !build->lattice->fields().empty()) {
    bind_plates(programs.dose, *build, textures, build);
    draw_doses(*build, programs, pane, step);
  }
  bind_plates(program, *build, textures, build);
  canvas_.draw_here();
  const int bottom = canvas_height - pane.y - pane.height;
  glViewport(pane.x, bottom, pane.width, pane.height);
  glEnable(GL_SCISSOR_TEST);
  const int right = pane.clip_right > 0 ? pane.clip_right : pane.width;
  glScissor(pane.x + pane.clip_left, bottom, std::max(right - pane.clip_left, 0), pane.height);
  glEnable(GL_BLEND);
  glBlendFunc(GL_ONE, GL_ONE);
  // Pixel (0.5, 0.5) of the pane's lower left corner; the print's y runs down.
  const double left_px = (pane.view.centre.x * px_per_mm - 0.5) - 0.5 * pane.width * step;
  const double low_px = (pane.view.centre.y * px_per_mm - 0.5) + 0.5 * pane.height * step;
  glUniform2f(program.at("u_origin"), static_cast<float>(left_px), static_cast<float>(low_px));
  glUniform2f(program.at("u_step"), static_cast<float>(step), static_cast<float>(-step));
  glUniform2f(program.at("u_corner"), static_cast<float>(pane.x), static_cast<float>(bottom));
  float within[2];
  place_within(passes_, within);
  glUniform2f(program.at("u_jitter"), within[0], within[1]);
  double small = 0, level = 0;
  double place[4] = {-0.5, -0.5, 1.0 / build->width(), 1.0 / build->height()};
  const bool drawn = settings.sims_pictures && as_built(pane, *build, offsets, down);
  if (drawn && session.pyramid() && session.pyramid()->build == build && step > kSmallFrom) {
    gpu_.pyramid(session.pyramid()).bind(kPyramid);
    small = smoothstep(kSmallFrom, kSmallWhole, step);
    level = std::max(0.0, std::log2(step / session.pyramid()->shrink) - kSmallSharper);
  } else if (drawn && loupe >= 1 && session.loupe_picture() && session.loupe_picture()->build == build) {
    const LoupePicture& picture = *session.loupe_picture();
    gpu_.loupe_picture(session.loupe_picture()).bind(kPyramid);
    small = 1;
    place[0] = picture.corner.x * px_per_mm - 0.5;
    place[1] = picture.corner.y * px_per_mm - 0.5;
    place[2] = 1 / (picture.width_mm * px_per_mm);
    place[3] = 1 / (picture.height_mm * px_per_mm);
  } else {
    nothing_.bind(kPyramid);
  }
  const int wide = small >= 1 ? 1
                              : std::clamp(static_cast<int>(std::ceil(step)), settings.points,
                                           std::max(settings.points, settings.most_points));
  int grid = step > 1 ? wide : settings.points;
  if (most_points > 0 && most_points < grid) {
    grid = most_points;
    coarse_ = true;
  }
  const bool near = most_points > 0 && step > kNearStep * grid && small < 1;
  coarse_ = coarse_ || near;
  glUniform1i(program.at("u_grid"), grid);
  glUniform1i(program.at("u_near"), near ? 1 : 0);
  if (pane.film) {
    glUniform1i(program.at("u_plate"), pane.plate);
    glUniform3f(program.at("u_white"), static_cast<float>(mix.white.x), static_cast<float>(mix.white.y),
                static_cast<float>(mix.white.z));
  } else {
    mix.values.bind(kValues);
    mix.levels.bind(kLevels);
    if (mix.rank > 0) {
      mix.states.bind(kStates);
      glUniform1i(program.at("u_states"), kStates);
      glBindBufferBase(GL_UNIFORM_BUFFER, kFormBlock, mix.form.id());
    }
    gpu_.masks(*build, offsets).bind(kMasks);
    garment_.bind(kGarment);
    glUniform1i(program.at("u_values"), kValues);
    glUniform1i(program.at("u_levels"), kLevels);
    glUniform1i(program.at("u_masks"), kMasks);
    glUniform1i(program.at("u_pyramid"), kPyramid);
    glUniform1i(program.at("u_garment"), kGarment);
    int counts[4] = {};
    GLint units[4] = {};
    const std::size_t fields = build->lattice->fields().size();
    for (std::size_t f = 0; f < std::max<std::size_t>(fields, 1); ++f) {
      if (f < fields) counts[f] = static_cast<int>(build->lattice->levels(f).size());
      units[f] = kLoupeDose + static_cast<int>(f);
      (loupe > 0 && f < fields ? dose_[f].texture() : nothing_).bind(units[f]);
    }
    glUniform1iv(program.at("u_loupe_dose"), static_cast<GLsizei>(std::max<std::size_t>(fields, 1)), units);
    glUniform4iv(program.at("u_level_counts"), 1, counts);
    glUniform4fv(program.at("u_dose_place"), 1, dose_place_);
    glUniform1f(program.at("u_loupe"), static_cast<float>(loupe));
    glUniform1f(program.at("u_small"), static_cast<float>(small));
    glUniform1f(program.at("u_pyramid_level"), static_cast<float>(level));
    glUniform4f(program.at("u_pyramid_place"), static_cast<float>(place[0]), static_cast<float>(place[1]),
                static_cast<float>(place[2]), static_cast<float>(place[3]));
    glUniform1f(program.at("u_mm_per_px"), static_cast<float>(1 / px_per_mm));
    glUniform1i(program.at("u_show_code"), settings.show_code);
    const GarmentDrawing& g = garment_drawing();
    const double middle = 0.5 * build->prediction->width_mm();
    glUniform4f(program.at("u_garment_place"), static_cast<float>(middle + g.left_mm),
                static_cast<float>(g.top_mm - kDropBelowCollarMm),
                pane.garment ? static_cast<float>(g.width_mm) : 0.0F, static_cast<float>(g.height_mm));
  }
  glDrawArrays(GL_TRIANGLES, 0, 3);
  glDisable(GL_BLEND);
  glDisable(GL_SCISSOR_TEST);
}

std::vector<float> Renderer::xyz() const {
  if (settings.processor) {
    std::vector<float> out = soft_canvas_;
    for (float& v : out) v /= static_cast<float>(std::max(passes_, 1));
    return out;
  }
  const std::size_t row = static_cast<std::size_t>(canvas_.width()) * 4;
  std::vector<float> flipped(row * static_cast<std::size_t>(canvas_.height())), out(flipped.size());
  glBindFramebuffer(GL_FRAMEBUFFER, canvas_.id());
  glReadPixels(0, 0, canvas_.width(), canvas_.height(), GL_RGBA, GL_FLOAT, flipped.data());
  const auto passes = static_cast<float>(std::max(passes_, 1));
  for (std::size_t y = 0; y < static_cast<std::size_t>(canvas_.height()); ++y) {
    const float* from = flipped.data() + (static_cast<std::size_t>(canvas_.height()) - 1 - y) * row;
    std::transform(from, from + row, out.data() + y * row, [passes](float v) { return v / passes; });
  }
  return out;
}

}  // namespace kirtle
