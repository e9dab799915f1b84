//! What the lens sees, as files.

use super::{exchange, fail, worked_out};
use image::codecs::hdr::HdrEncoder;
use tapemark_core::attempt::Answer;
use tapemark_core::blocking::Moments;
use tapemark_core::frame::{Developed, FrameSpec, MOST_PIXELS, Overlay, Picture, guides, picture_in_bands};
use tapemark_core::light::{FINE_PATCH_M, Transport};
use tapemark_core::plan::{Plan, PlanError, Shot};
use tapemark_core::scene::Scene;
use tapemark_sheet::to_png;
use tapemark_words::say;

/// Pixels folded into one, each way, for smooth edges.
const FOLD: usize = 2;

/// What is asked of a frame beside its shot and second.
#[derive(Debug, Clone, Default)]
pub(super) struct Asked {
    /// Pixels across.
    pub width: usize,
    /// Lines over the picture.
    pub over: Vec<Overlay>,
    /// Levels in stops instead of the picture.
    pub levels: bool,
}

/// The bytes of a frame by the ending of the file's name: a picture as PNG, luminance as Radiance RGBE.
pub(super) fn frame(
    plan: &Plan,
    shot: &Shot,
    at: f64,
    output: &std::path::Path,
    asked: &Asked,
) -> Result<Vec<u8>, PlanError> {
    match exchange::ending(output).as_str() {
        "png" => frame_png(plan, shot, at, asked),
        "hdr" if asked.levels || !asked.over.is_empty() => Err(fail(
            say!("a-luminance-picture-holds-light-alone"),
            output.display().to_string(),
            say!("leave-over-and-levels-away-or"),
        )),
        "hdr" => frame_hdr(plan, shot, at, asked),
        other => Err(fail(
            say!("is-no-kind-of-picture", ending = other),
            output.display().to_string(),
            say!("end-the-name-in-png-or"),
        )),
    }
}

/// A shot's scene and light.
struct Lit {
    scene: Scene,
    transport: Transport,
}

/// Takes a shot's picture, cut finer than the file, in bands from the top.
fn taken(plan: &Plan, shot: &Shot, at: f64, width: usize, each: impl FnMut(Picture)) -> Result<Lit, PlanError> {
    let no_camera =
        || fail(say!("the-shot-has-no-camera"), say!("shot-named", shot = shot.name), say!("place-its-camera"));
    let scene = Scene::of(plan, shot, at);
    let view = scene.view.as_ref().ok_or_else(no_camera)?;
    // Before anything is worked out.
    if !FrameSpec::is_in_bounds(view, width) {
        let what = say!("that-is-more-pixels-than", most = MOST_PIXELS / 1_000_000);
        return Err(fail(what, "--width", say!("ask-for-fewer-pixels")));
    }
    let rig = plan.shot_rig(shot);
    let rig = rig.as_deref();
    let transport = Transport::of(plan, rig, &scene, FINE_PATCH_M, None);
    let spec = FrameSpec::for_view(view, width).cut_finer(FOLD);
    worked_out(Answer::Picture, || picture_in_bands(plan, &scene, rig, &transport, spec, FOLD, each))?
        .ok_or_else(no_camera)?;
    Ok(Lit { scene, transport })
}

/// What the lens sees as PNG.
fn frame_png(plan: &Plan, shot: &Shot, at: f64, asked: &Asked) -> Result<Vec<u8>, PlanError> {
    let place = say!("shot-named", shot = shot.name);
    let camera = plan
        .shot_camera(shot)
        .ok_or_else(|| fail(say!("the-shot-has-no-camera"), place.clone(), say!("place-its-camera")))?;
    let mut developed = Developed { width: 0, height: 0, rgba: Vec::new() };
    let Lit { scene, transport } = taken(plan, shot, at, asked.width, |band| {
        let band = if asked.levels {
            band.false_levels(camera, &plan.exposure, FOLD, tapemark_sheet::stops_colour)
        } else {
            band.developed(camera, &plan.exposure, FOLD)
        };
        developed.width = band.width;
        developed.height += band.height;
        developed.rgba.extend(band.rgba);
    })?;
    let facts = tapemark_core::facts::facts_of_scene(plan, shot, &scene, &transport, &Moments::of(plan, shot));
    let lines: Vec<_> = asked.over.iter().flat_map(|o| guides(*o, shot, &scene, &facts)).collect();
    let page = tapemark_sheet::frame_page(&developed, &lines);
    to_png(&page, developed.width as f64 / tapemark_sheet::FRAME_WIDTH_MM * 25.4)
        .map_err(|e| fail(e.to_string(), place, say!("ask-for-fewer-pixels")))
}

/// What a luminance picture's header says of its numbers.
const UNIT: &[u8] = b"# linear sRGB: 0.2126 R + 0.7152 G + 0.0722 B is the luminance in cd/m2\n";

/// A pixel raised by half a step of the shared exponent's mantissa: the encoder cuts off what is below a step, and
/// most readers take the step's lower end.
fn rounded(rgb: [f32; 3]) -> [f32; 3] {
    let half_step = |largest: f32| (largest.log2().floor() + 1.0).exp2() / 512.0;
    let largest = rgb.iter().copied().fold(0.0, f32::max);
    if largest <= 0.0 {
        return [0.0; 3];
    }
    // Raised over the next power of two, it has steps twice as wide.
    let half = half_step(largest + half_step(largest));
    rgb.map(|v| v.max(0.0) + half)
}

/// Luminance as Radiance RGBE: linear sRGB, its luminance in cd/m².
fn frame_hdr(plan: &Plan, shot: &Shot, at: f64, asked: &Asked) -> Result<Vec<u8>, PlanError> {
    let mut pixels: Vec<image::Rgb<f32>> = Vec::new();
    let mut width = 0;
    taken(plan, shot, at, asked.width, |band| {
        let light = band.folded(FOLD);
        width = light.width;
        pixels.extend(light.light.iter().map(|c| image::Rgb(rounded(*c))));
    })?;
    let mut bytes = Vec::new();
    HdrEncoder::new(&mut bytes)
        .encode(&pixels, width, pixels.len() / width.max(1))
        .map_err(|e| fail(e.to_string(), say!("shot-named", shot = shot.name), say!("ask-for-fewer-pixels")))?;
    // The second line of the header is a remark; ours says what the numbers are.
    let first = bytes.iter().position(|b| *b == b'\n').map_or(0, |n| n + 1);
    bytes.splice(first..first, UNIT.iter().copied());
    Ok(bytes)
}
