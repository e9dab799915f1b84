//! Light: fixtures as emitters, transport to receivers, readings and maps.
//!
//! [`solve`] is the one seam between emitters and receivers: everything that shows light goes through
//! it. It answers for one emitter at unit output, so that dimming, gels and switching are factors.
//! [`Transport`] adds what the rooms' surfaces return, solved per emitter and kept between questions.

mod area;
mod attempt;
mod beam;
mod between;
mod beyond;
mod bounce;
mod crowd;
mod emitter;
mod factors;
mod goal;
mod ground;
mod levels;
mod links;
mod lm63;
mod map;
mod open;
mod patches;
mod reading;
mod returned;
mod rooms;
mod sky;
mod slope;
mod sources;
mod spot;
mod transport;

pub use area::{lambert_polygon, solid_angle_sr};
pub use beam::{Beam, Look};
pub use bounce::{Detail, Radiosity, Surfaces, bounced_xyz};
pub use emitter::{
    Emitter, Face, Outside, Shape, as_set, axis_gain, emitters, gain, lamp_bands, light_colour, through_gel,
};
pub use goal::{Change, Goal, Reached, WITHIN_STOPS, reach};
pub(crate) use ground::Ground;
pub use levels::SCRIM_STOPS;
pub(crate) use levels::{full_gain, set_level};
pub use lm63::{Lm63Error, read_lm63};
pub use map::{BOUNCE_CELL_M, LightMap, MapFacing, MapLight, MapShows, MapSpec, light_map};
pub use open::{OpenSky, Roofs};
pub(crate) use patches::DOOR;
pub use reading::{Part, Reading, Role, face_readings, hair_receiver, reading};
pub use returned::{InRoom, LitRooms, Returned};
pub use sky::{
    Hole, Sky, SunPlace, SunSpell, Sunlit, daylight_emitters, diffuse_lx, holes, plan_sun, sun_colour, sun_patches,
    sun_place, sun_reaches, sun_share, sun_spells, toward_sun, twilight_log_lx,
};
pub use spot::{Seen, Spot, background, middle_grey_cd_m2, spot};
pub use transport::{FINE_PATCH_M, Transport};

use crate::geometry::{Few, OwnerIx, Solids};
use crate::plan::Receptor;
use glam::DVec3;

/// Where light is asked for: a meter's receptor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Receiver {
    /// Where, metres.
    pub at: DVec3,
    /// Unit vector the receptor looks along.
    pub toward: DVec3,
    /// Flat or dome.
    pub receptor: Receptor,
}

impl Receiver {
    /// How the receptor weighs light from a direction with cosine `cos` to its axis.
    #[must_use]
    pub fn response(&self, cos: f64) -> f64 {
        match self.receptor {
            Receptor::Flat => cos.max(0.0),
            // A hemisphere's projected area: the cardioid of dome meters.
            Receptor::Dome => (1.0 + cos) * 0.5,
        }
    }
}

/// How many points of a source that is partly hidden are asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fineness {
    /// As many as one number needs that is read by itself.
    Meter,
    /// Fewer: a patch or a picture evens out what is left.
    Many,
}

/// Illuminance at a receiver from one emitter at unit output, lux, past everything but `skip`.
#[must_use]
pub fn solve(solids: &Solids, emitter: &Emitter, to: &Receiver, skip: OwnerIx) -> f64 {
    solve_among(solids, emitter, to, skip, None, Fineness::Meter)
}

/// As [`solve`] for one of the many points of a picture, which evens out what fewer points of a source leave.
pub(crate) fn solve_many(solids: &Solids, emitter: &Emitter, to: &Receiver, skip: OwnerIx) -> f64 {
    solve_among(solids, emitter, to, skip, None, Fineness::Many)
}

/// As [`solve`], asking only what may stand in the way where that is known.
fn solve_among(
    solids: &Solids,
    emitter: &Emitter,
    to: &Receiver,
    skip: OwnerIx,
    among: Option<&Few>,
    fineness: Fineness,
) -> f64 {
    match &emitter.shape {
        Shape::Point { at, beam, peak_cd } => {
            let v = *at - to.at;
            let d2 = v.length_squared();
            // A receiver inside the lamp has no reading; 1 cm is the nearest that means anything.
            if d2 < 1e-4 {
                return 0.0;
            }
            let d = d2.sqrt();
            let response = to.response(to.toward.dot(v) / d);
            if response <= 0.0 {
                return 0.0;
            }
            let candela = match beam {
                None => *peak_cd,
                Some(beam) => peak_cd * beam.share(-v / d) * beam.open_share(-v),
            };
            let blocked = |p, q| match among {
                Some(few) => solids.blocked_by(few, p, q, skip),
                None => solids.blocked(p, q, skip),
            };
            if candela <= 0.0 || blocked(to.at.as_vec3(), at.as_vec3()) {
                return 0.0;
            }
            candela * response / d2
        }
        Shape::Sky { hole, sky, roofs, outside } => {
            let lx = sky::solve_sky(solids, (hole, sky, outside), to, skip, among, fineness);
            // In the open the whole sky is asked at once.
            if lx > 0.0 && roofs.are_over(to.at.truncate()) { lx } else { 0.0 }
        }
        Shape::Sun { toward, holes, roofs } => {
            let response = to.response(to.toward.dot(*toward));
            if response <= 0.0 { 0.0 } else { response * sun_share(solids, *toward, holes, roofs, to.at, skip) }
        }
        Shape::Open(open) => open.solve(solids, to, skip, fineness),
        Shape::Area(face) => area::solve(solids, face, to, skip, among, fineness),
    }
}
