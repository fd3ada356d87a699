#include "gpu_print.h"

#include "pair_basis.h"
#include "screen/threshold.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <numbers>
#include <numeric>

namespace kirtle {

namespace {

constexpr int kDataWidth = 4096;                   // of textures that are lists
constexpr int kMaskSide = 32;                      // samples of a period, across and down
constexpr std::uint32_t kPlateSeed = 0x9E3779B9u;  // as in sim/print/loupe.cpp
constexpr std::size_t kFewFilms = 2;               // so many are mixed pair by pair
constexpr std::size_t kPlateSets = 3, kMixes = 8, kToneSets = 4;

void upload_list(const std::vector<float>& rgba, GLint format = GL_RGBA32F) {
  const std::size_t texels = rgba.size() / 4, rows = (texels + kDataWidth - 1) / kDataWidth;
  std::vector<float> padded = rgba;
  padded.resize(rows * kDataWidth * 4);
  glTexImage2D(GL_TEXTURE_2D, 0, format, kDataWidth, static_cast<GLsizei>(rows), 0, GL_RGBA, GL_FLOAT,
               padded.data());
}

/// Layers of a texture array from 16-bit pictures, cut in tiles.
void upload_tiles(const PlateTextures& t, const std::vector<const std::vector<std::uint16_t>*>& pictures,
                  int width, int height) {
  const GLsizei layers = static_cast<GLsizei>(pictures.size()) * t.across * t.down;
  glTexImage3D(GL_TEXTURE_2D_ARRAY, 0, GL_R16UI, t.tile_width, t.tile_height, std::max(layers, 1), 0,
               GL_RED_INTEGER, GL_UNSIGNED_SHORT, nullptr);
  glPixelStorei(GL_UNPACK_ALIGNMENT, 2);
  glPixelStorei(GL_UNPACK_ROW_LENGTH, width);
  int layer = 0;
  for (const std::vector<std::uint16_t>* picture : pictures) {
    for (int y = 0; y < t.down; ++y) {
      for (int x = 0; x < t.across; ++x, ++layer) {
        const int left = x * t.tile_width, top = y * t.tile_height;
        const int w = std::min(t.tile_width, width - left), h = std::min(t.tile_height, height - top);
        if (w <= 0 || h <= 0) continue;
        const std::uint16_t* from =
            picture->data() + static_cast<std::size_t>(top) * static_cast<std::size_t>(width) + left;
        glTexSubImage3D(GL_TEXTURE_2D_ARRAY, 0, 0, 0, layer, w, h, 1, GL_RED_INTEGER, GL_UNSIGNED_SHORT,
                        from);
      }
    }
  }
  glPixelStorei(GL_UNPACK_ROW_LENGTH, 0);
  glPixelStorei(GL_UNPACK_ALIGNMENT, 4);
}

/// Films of one screen whose register differs: the group is out of register.
bool apart(const Build& build, const std::vector<RegisterOffset>& offsets, int group) {
  const OverprintTable& table = build.prediction->model().table;
  const RegisterOffset* first = nullptr;
  for (int i = 0; i < table.plates(); ++i) {
    if (table.screen_group(i) != group) continue;
    const RegisterOffset& o = offsets[static_cast<std::size_t>(i)];
    if (first == nullptr) first = &o;
    if (o.dx != first->dx || o.dy != first->dy) return true;
  }
  return false;
}

}  // namespace

GpuPrints::GpuPrints() {
  glGetIntegerv(GL_MAX_TEXTURE_SIZE, &largest_);
  glGetIntegerv(GL_MAX_ARRAY_TEXTURE_LAYERS, &layers_);
}

const PlateTextures& GpuPrints::plates(const Build& build) {
  const auto known =
      std::find_if(plates_.begin(), plates_.end(), [&](const auto& p) { return p->codes == build.codes; });
  if (known != plates_.end()) {
    std::rotate(plates_.begin(), known, known + 1);
    return *plates_.front();
  }
  if (plates_.size() >= kPlateSets) plates_.pop_back();
  auto made = std::make_unique<PlateTextures>();
  made->codes = build.codes;
  const int width = build.width(), height = build.height();
  made->across = (width + largest_ - 1) / largest_;
  made->down = (height + largest_ - 1) / largest_;
  made->tile_width = (width + made->across - 1) / made->across;
  made->tile_height = (height + made->down - 1) / made->down;
  std::vector<const std::vector<std::uint16_t>*> codes, doses;
  for (const auto& plate : build.codes) {
    codes.push_back(&plate->code);
    if (plate->field) doses.push_back(&plate->dose);
  }
  if (static_cast<int>(codes.size()) * made->across * made->down > layers_)
    throw GlError("the print is too large for this graphics driver; kirtle predict draws it");
  made->code = GlTexture(GL_TEXTURE_2D_ARRAY);
  upload_tiles(*made, codes, width, height);
  made->dose = GlTexture(GL_TEXTURE_2D_ARRAY);
  if (doses.empty()) {
    const std::uint16_t none = 0;
    glTexImage3D(GL_TEXTURE_2D_ARRAY, 0, GL_R16UI, 1, 1, 1, 0, GL_RED_INTEGER, GL_UNSIGNED_SHORT, &none);
  } else {
    upload_tiles(*made, doses, width, height);
  }
  plates_.insert(plates_.begin(), std::move(made));
  return *plates_.front();
}

const MixTextures& GpuPrints::mix(const Build& build, const std::string& light) {
  const auto known = std::find_if(mixes_.begin(), mixes_.end(), [&](const auto& m) {
    return m->lattice == build.lattice && m->light == light;
  });
  if (known != mixes_.end()) {
    std::rotate(mixes_.begin(), known, known + 1);
    return *mixes_.front();
  }
  if (mixes_.size() >= kMixes) mixes_.pop_back();
  auto made = std::make_unique<MixTextures>();
  const PairLattice& lattice = *build.lattice;
  made->lattice = build.lattice;
  made->light = light;
  const bool own = light == build.scene->light;
  const ViewingWeights weights = viewing_weights(light, build.scene->observer);
  made->white = weights.white;
  made->values = GlTexture(GL_TEXTURE_2D);
  const std::vector<float> values = own ? build.contracted : lattice.contracted(weights);
  upload_list(values);
  if (lattice.fields().empty() && lattice.films().size() > kFewFilms) {
    const PairBasis basis = make_pair_basis(values, std::size_t{1} << lattice.films().size(), weights.white);
    made->rank = basis.rank;
    made->states = GlTexture(GL_TEXTURE_2D);
    upload_list(basis.states, GL_RGBA16_SNORM);
    made->form = GlBuffer(GL_UNIFORM_BUFFER, basis.form);
  }
  std::vector<float> levels;
  for (std::size_t f = 0; f < lattice.fields().size(); ++f) {
    const std::vector<double>& at = lattice.levels(f);
    for (int i = 0; i < 1024; ++i) {
      const auto above = std::upper_bound(at.begin(), at.end(), i / 1024.0);
      levels.push_back(static_cast<float>(above - at.begin() - 1));
    }
    for (int i = 0; i < 64; ++i)
      levels.push_back(static_cast<std::size_t>(i) < at.size()
                           ? static_cast<float>(at[static_cast<std::size_t>(i)])
                           : 2.0F);
  }
  if (levels.empty()) levels.assign(1088, 0.0F);
  made->levels = GlTexture(GL_TEXTURE_2D);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_R32F, 1088, static_cast<GLsizei>(levels.size() / 1088), 0, GL_RED,
               GL_FLOAT, levels.data());
  mixes_.insert(mixes_.begin(), std::move(made));
  return *mixes_.front();
}

const GlTexture& GpuPrints::tones(const std::shared_ptr<const Build>& build) {
  for (const auto& [owner, texture] : tones_) {
    if (owner == build) return texture;
  }
  if (tones_.size() >= kToneSets) tones_.erase(tones_.begin());
  std::vector<float> nodes;
  for (const auto& plate : build->tones) {
    for (const ToneNode& n : plate) nodes.insert(nodes.end(), {n.printed, n.tone, n.dots_held, n.holes_held});
  }
  GlTexture texture(GL_TEXTURE_2D, GL_LINEAR);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA16, kToneNodes, static_cast<GLsizei>(build->tones.size()), 0, GL_RGBA,
               GL_FLOAT, nodes.data());
  tones_.emplace_back(build, std::move(texture));
  return tones_.back().second;
}

const PrintPrograms& GpuPrints::programs(const Build& build, int rank) {
  const std::size_t films = build.lattice->films().size(), fields = build.lattice->fields().size();
  const OverprintTable& table = build.prediction->model().table;
  bool grouped = false;
  for (const int film : build.lattice->films()) grouped = grouped || table.screen_group(film) >= 0;
  const std::string head = fmt::format(
      "#version 330 core\n#define PLATES {}\n#define FILMS {}\n#define FIELDS {}\n#define PAIRS {}\n#define "
      "RANK "
      "{}\n#define GROUPED {}\n",
      films + fields, films, fields, build.lattice->pairs(), rank, grouped ? 1 : 0);
  const auto known = programs_.find(head);
  if (known != programs_.end()) return known->second;
  const std::string dots = std::string("#define REAL float\n#define UINT uint\n#define FUNC\n") +
                           shader_text("threshold.inl") + "\n#undef FUNC\n#undef UINT\n#undef REAL\n";
  const std::string vertex = std::string("#version 330 core\n") + shader_text("quad.vert");
  const std::string common = head + dots + shader_text("plates.glsl");
  PrintPrograms made;
  made.print = GlProgram(vertex, common + shader_text("mixing.glsl") + shader_text("print.frag"));
  made.film = GlProgram(vertex, common + shader_text("film.frag"));
  made.dose = GlProgram(vertex, common + shader_text("dose.frag"));
  for (const GlProgram* program : {&made.print, &made.film, &made.dose}) {
    const GLuint block = glGetUniformBlockIndex(program->id(), "Plates");
    if (block != GL_INVALID_INDEX) glUniformBlockBinding(program->id(), block, kPlatesBlock);
    const GLuint form = glGetUniformBlockIndex(program->id(), "Form");
    if (form != GL_INVALID_INDEX) glUniformBlockBinding(program->id(), form, kFormBlock);
  }
  return programs_.emplace(head, std::move(made)).first->second;
}

const GlTexture& GpuPrints::pyramid(const std::shared_ptr<const Pyramid>& pyramid) {
  if (pyramid_.first == pyramid) return pyramid_.second;
  GlTexture texture(GL_TEXTURE_2D, GL_LINEAR_MIPMAP_LINEAR);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_RGB16F, pyramid->width, pyramid->height, 0, GL_RGB, GL_FLOAT,
               pyramid->xyz.data());
  glGenerateMipmap(GL_TEXTURE_2D);
  pyramid_ = {pyramid, std::move(texture)};
  return pyramid_.second;
}

const GlTexture& GpuPrints::loupe_picture(const std::shared_ptr<const LoupePicture>& picture) {
  if (close_.first == picture) return close_.second;
  GlTexture texture(GL_TEXTURE_2D, GL_LINEAR);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_RGB32F, picture->width, picture->height, 0, GL_RGB, GL_FLOAT,
               picture->xyz.data());
  close_ = {picture, std::move(texture)};
  return close_.second;
}

std::vector<PlateBlock> GpuPrints::blocks(const Build& build, const std::vector<RegisterOffset>& offsets,
                                          const std::vector<bool>& prints) const {
  const OverprintTable& table = build.prediction->model().table;
  const double px_per_mm = build.ppi() / kMmPerInch;
  std::vector<PlateBlock> out;
  int films = 0, fields = 0;
  for (std::size_t i = 0; i < build.codes.size(); ++i) {
    const PrintingPlate& plate = build.plates()[i];
    const RegisterOffset& o = offsets[i];
    const double turn = o.turn_deg * std::numbers::pi / 180, c = std::cos(turn), s = std::sin(turn);
    PlateBlock b{};
    const auto f = [](double v) { return static_cast<float>(v); };
    b.map[0] = f(c / (1 + o.stretch_x));
    b.map[1] = f(s / (1 + o.stretch_x));
    b.map[2] = f(-s / (1 + o.stretch_y));
    b.map[3] = f(c / (1 + o.stretch_y));
    b.place[0] = f(o.dx.v * px_per_mm);
    b.place[1] = f(o.dy.v * px_per_mm);
    b.place[2] = f(build.codes[i]->reach_px);
    b.place[3] = f(build.codes[i]->spread_px);
    const HalftoneScreen& screen = plate.cover.tone.halftone;
    const double angle = screen.angle_deg * std::numbers::pi / 180, per_px = screen.lpi / build.ppi();
    b.screen[0] = f(per_px * std::cos(angle));
    b.screen[1] = f(per_px * std::sin(angle));
    const bool field = build.codes[i]->field;
    b.what[0] = field ? 1 : 0;
    b.what[1] = field ? fields++ : films++;
    b.what[2] = static_cast<std::int32_t>(screen.shape);
    b.what[3] = table.screen_group(static_cast<int>(i));
    b.seed[0] = 1u + kPlateSeed * static_cast<std::uint32_t>(i);
    b.seed[1] = prints[i] ? 1 : 0;
    b.seed[2] = b.what[3] >= 0 && apart(build, offsets, b.what[3]) ? 1 : 0;
    out.push_back(b);
  }
  return out;
}

const GlTexture& GpuPrints::masks(const Build& build, const std::vector<RegisterOffset>& offsets) {
  const OverprintTable& table = build.prediction->model().table;
  std::vector<double> key;
  for (int i = 0; i < table.plates(); ++i) {
    const RegisterOffset& o = offsets[static_cast<std::size_t>(i)];
    const HalftoneScreen& h = build.plates()[static_cast<std::size_t>(i)].cover.tone.halftone;
    key.insert(key.end(), {o.dx.v, o.dy.v, h.lpi, h.angle_deg, static_cast<double>(table.screen_group(i))});
  }
  if (mask_ && key == mask_key_) return mask_;
  constexpr int samples = kMaskSide * kMaskSide, words = samples / 32;
  const std::size_t films = std::max<std::size_t>(build.lattice->films().size(), 1);
  const std::size_t row = films * words;
  std::vector<std::uint32_t> mask(row * (samples + 1));
  bool any = false;
  for (std::size_t f = 0; f < build.lattice->films().size(); ++f) {
    const int plate = build.lattice->films()[f], group = table.screen_group(plate);
    if (group < 0 || !apart(build, offsets, group)) continue;
    any = true;
    const HalftoneScreen& halftone = build.plates()[static_cast<std::size_t>(plate)].cover.tone.halftone;
    const ScreenAxes axes(build.plates()[static_cast<std::size_t>(group)].cover.tone.halftone);
    const RegisterOffset &o = offsets[static_cast<std::size_t>(plate)],
                         &first = offsets[static_cast<std::size_t>(group)];
    const double x = o.dx.v - first.dx.v, y = o.dy.v - first.dy.v;
    std::vector<double> threshold(samples);
    for (int i = 0; i < samples; ++i) {
      threshold[static_cast<std::size_t>(i)] =
          dot_threshold(halftone.shape, (i % kMaskSide + 0.5) / kMaskSide - axes.u(x, y),
                        (i / kMaskSide + 0.5) / kMaskSide - axes.v(x, y));
    }
    std::vector<std::size_t> order(samples);
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return threshold[a] < threshold[b]; });
    for (std::size_t level = 0; level < samples; ++level) {
      const std::uint32_t* here = mask.data() + level * row + f * words;
      std::uint32_t* next = mask.data() + (level + 1) * row + f * words;
      std::copy_n(here, words, next);
      next[order[level] / 32] |= 1u << order[level] % 32;
    }
  }
  mask_ = GlTexture(GL_TEXTURE_2D);
  mask_key_ = std::move(key);
  if (any) {
    glTexImage2D(GL_TEXTURE_2D, 0, GL_R32UI, static_cast<GLsizei>(row), samples + 1, 0, GL_RED_INTEGER,
                 GL_UNSIGNED_INT, mask.data());
  } else {
    glTexImage2D(GL_TEXTURE_2D, 0, GL_R32UI, 1, 1, 0, GL_RED_INTEGER, GL_UNSIGNED_INT, mask.data());
  }
  return mask_;
}

}  // namespace kirtle
