// Passes besides the print's own: dots that wick, and the way to the monitor.
#include "renderer.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kirtle {

namespace {
constexpr int kDoseUnit = 8;  // of the textures; kLoupeDose in renderer.cpp
}

void Renderer::draw_doses(const Build& build, const PrintPrograms& programs, const Pane& pane, double step) {
  const double px_per_mm = build.ppi() / kMmPerInch;
  const std::vector<int>& fields = build.lattice->fields();
  dose_.resize(fields.size());
  dose_between_.resize(1);
  // One raster for all fields: as fine as the sharpest of them needs.
  double finest = 1e9, widest = 0;
  for (const int plate : fields) {
    const double wick = build.plates()[static_cast<std::size_t>(plate)].cover.wick.v * px_per_mm;
    finest = std::min(finest, wick > 0 ? wick : 1e-9);
    widest = std::max(widest, wick);
  }
  const double pitch = std::max({step, finest / 6, widest * 3.5 / 63});
  const int margin = static_cast<int>(std::ceil(3.5 * widest / pitch)) + 2;
  const auto samples = [&](int pixels) {
    return static_cast<int>(std::ceil(pixels * step / pitch)) + 2 * margin + 2;
  };
  const int width = samples(pane.width), height = samples(pane.height);
  const double left = (pane.view.centre.x * px_per_mm - 0.5) - 0.5 * pane.width * step - margin * pitch;
  const double top = (pane.view.centre.y * px_per_mm - 0.5) - 0.5 * pane.height * step - margin * pitch;
  // As fine as the screen: on its pixels, as sim's loupe. Coarser: on a raster of the print's own, so that it
  // stands still when the view moves.
  const auto anchored = [&](double from) {
    return pitch > step ? std::floor(from / pitch) * pitch : from + 0.5 * step;
  };
  const double x0 = anchored(left), y0 = anchored(top);
  if (dose_between_[0].width() != width || dose_between_[0].height() != height)
    dose_between_[0] = GlCanvas(width, height, GL_R32F, GL_LINEAR);
  for (std::size_t f = 0; f < fields.size(); ++f) {
    if (dose_[f].width() != width || dose_[f].height() != height)
      dose_[f] = GlCanvas(width, height, GL_R32F, GL_LINEAR);
    const int plate = fields[f];
    programs.dose.use();
    glUniform2f(programs.dose.at("u_origin"), static_cast<float>(x0), static_cast<float>(y0));
    glUniform2f(programs.dose.at("u_step"), static_cast<float>(pitch), static_cast<float>(pitch));
    glUniform1i(programs.dose.at("u_plate"), plate);
    dose_[f].draw_here();
    glDrawArrays(GL_TRIANGLES, 0, 3);
    const double sigma = build.plates()[static_cast<std::size_t>(plate)].cover.wick.v * px_per_mm / pitch;
    if (!(sigma > 0.05)) continue;
    const int half = std::min(64, static_cast<int>(std::ceil(3.5 * sigma)));
    float kernel[65] = {};
    double sum = 0;
    for (int i = 0; i <= half; ++i) {
      const double s = sigma * std::numbers::sqrt2;
      const double w = std::erf((i + 0.5) / s) - std::erf((i - 0.5) / s);
      kernel[i] = static_cast<float>(w);
      sum += i == 0 ? w : 2 * w;
    }
    for (float& w : kernel) w = static_cast<float>(static_cast<double>(w) / sum);
    blur_.use();
    glUniform1fv(blur_.at("u_kernel"), 65, kernel);
    glUniform1i(blur_.at("u_half"), half);
    glUniform1i(blur_.at("u_in"), kDoseUnit);
    for (const bool down : {false, true}) {
      const GlCanvas &from = down ? dose_between_[0] : dose_[f], &to = down ? dose_[f] : dose_between_[0];
      to.draw_here();
      from.texture().bind(kDoseUnit);
      glUniform2i(blur_.at("u_along"), down ? 0 : 1, down ? 1 : 0);
      glDrawArrays(GL_TRIANGLES, 0, 3);
    }
  }
  dose_place_[0] = static_cast<float>(x0 - 0.5 * pitch);
  dose_place_[1] = static_cast<float>(y0 - 0.5 * pitch);
  dose_place_[2] = static_cast<float>(1 / (pitch * width));
  dose_place_[3] = static_cast<float>(1 / (pitch * height));
}

const Renderer::Table& Renderer::table_for(const XYZ& white) {
  for (const Table& t : tables_) {
    if (t.table.white.x == white.x && t.table.white.z == white.z) return t;
  }
  Table made{make_display_table(white, profile_), GlTexture(GL_TEXTURE_3D, GL_LINEAR)};
  constexpr int n = DisplayTable::kSide;
  glTexImage3D(GL_TEXTURE_3D, 0, GL_RGB32F, n, n, n, 0, GL_RGB, GL_FLOAT, made.table.rgb.data());
  tables_.push_back(std::move(made));
  return tables_.back();
}

void Renderer::show(const Session& session, std::span<const Pane> panes, GLuint framebuffer, int x, int y) {
  const XYZ fallback{96.42, 100, 82.49};
  const std::size_t first = session.is_open() ? 0 : panes.size();
  for (std::size_t i = first; i < std::max<std::size_t>(panes.size(), first + 1); ++i) {
    const bool pane = i < panes.size();
    const std::string light = pane && !panes[i].light.empty() ? panes[i].light
                              : session.is_open()             ? session.build()->scene->light
                                                              : "";
    const XYZ white =
        session.is_open() ? viewing_weights(light, session.build()->scene->observer).white : fallback;
    const Table& table = table_for(white);
    glBindFramebuffer(GL_FRAMEBUFFER, framebuffer);
    glViewport(x, y, canvas_.width(), canvas_.height());
    glEnable(GL_SCISSOR_TEST);
    if (pane && i > first) {
      const int right = panes[i].clip_right > 0 ? panes[i].clip_right : panes[i].width;
      glScissor(x + panes[i].x + panes[i].clip_left, y + canvas_.height() - panes[i].y - panes[i].height,
                std::max(right - panes[i].clip_left, 0), panes[i].height);
    } else {
      glScissor(x, y, canvas_.width(), canvas_.height());  // the first one fills in what no pane covers
    }
    display_.use();
    canvas_.texture().bind(0);
    table.texture.bind(1);
    glUniform1i(display_.at("u_xyz"), 0);
    glUniform1i(display_.at("u_table"), 1);
    glUniform1f(display_.at("u_passes"), static_cast<float>(std::max(passes_, 1)));
    float matrix[9];
    for (int k = 0; k < 9; ++k)
      matrix[k] = static_cast<float>(
          table.table.to_linear[static_cast<std::size_t>(k / 3)][static_cast<std::size_t>(k % 3)]);
    glUniformMatrix3fv(display_.at("u_to_linear"), 1, GL_TRUE, matrix);
    glUniform2f(display_.at("u_axis"), static_cast<float>(DisplayTable::kFrom),
                static_cast<float>(DisplayTable::kStep));
    glUniform2i(display_.at("u_offset"), x, y);
    glUniform1i(display_.at("u_from_top"), settings.processor);
    glUniform3f(display_.at("u_surround"), settings.surround, settings.surround, settings.surround);
    glDrawArrays(GL_TRIANGLES, 0, 3);
  }
  glDisable(GL_SCISSOR_TEST);
}

}  // namespace kirtle
