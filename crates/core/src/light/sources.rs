//! Where the bounced light on a small surface comes from: looked at once for a patch, asked again for each of its parts.

use super::Receiver;
use super::bounce::{OFF_M, Patch, Surfaces, crowd_share, part_share, seen_share, unhidden_share};
use super::rooms::{NOWHERE, Rooms};
use crate::geometry::{Eight, Few, OwnerIx, Solids};
use crate::plan::Receptor;
use glam::{DVec2, DVec3};

/// What lights a patch, seen from its middle.
#[derive(Debug)]
pub(super) struct Sources {
    /// Light of all that matter little, taken alike for the whole patch, lux of linear sRGB.
    rest: [f32; 3],
    /// The other patches.
    list: Vec<u32>,
}

/// Patches that bring no more than this share of the light together are not looked at again.
const REST: f32 = 0.1;
/// Patches so near, in reaches of both, are looked at again whatever they bring.
const BESIDE: f64 = 1.5;

/// Which rooms matter at a place.
pub(super) struct Seen<'a> {
    rooms: &'a Rooms,
    room: u16,
    at: DVec2,
    list: Option<Vec<bool>>,
}

impl<'a> Seen<'a> {
    pub fn from(rooms: &'a Rooms, at: DVec2) -> Seen<'a> {
        let room = if rooms.are_many() { rooms.at(at) } else { NOWHERE };
        Seen { rooms, room, at, list: (room != NOWHERE).then(|| rooms.seen_from((room, at), 0.0)) }
    }

    /// Whether a patch may be seen from there.
    pub fn holds(&self, p: &Patch) -> bool {
        let Some(list) = self.list.as_ref().filter(|_| p.room != self.room && p.room != NOWHERE) else { return true };
        list[usize::from(p.room)]
            && self.rooms.may_see((self.room, self.at, 0.0), (p.room, p.at.truncate(), p.reach_m()))
    }
}

fn add(sum: &mut [f32; 3], glow: [f32; 3], share: f64) {
    sum.iter_mut().zip(glow).for_each(|(s, g)| *s += g * share as f32);
}

impl Surfaces {
    /// What lights a patch. `glow` is what leaves each surface, linear sRGB, lm/m².
    pub(super) fn sources_of(&self, solids: &Solids, glow: &[[f32; 3]], p: &Patch) -> Sources {
        let to = p.receiver(p.at);
        let reach = p.reach_m();
        let seen = Seen::from(self.rooms(), to.at.truncate());
        let mut sources = Sources { rest: [0.0; 3], list: Vec::new() };
        let mut found: Vec<(f32, u32)> = Vec::new();
        for (j, q) in self.patches().iter().enumerate() {
            let level: f32 = glow[j].iter().sum();
            if level <= 0.0 || (q.crowd.is_none() && q.normal.dot(q.at - to.at) >= reach) || !seen.holds(q) {
                continue;
            }
            let beside = BESIDE * (reach + q.reach_m());
            if (q.at - to.at).length_squared() < beside * beside {
                sources.list.push(j as u32);
                continue;
            }
            let share = match &q.crowd {
                Some(crowd) => crowd_share(solids, q, crowd, &to, OwnerIx::NONE),
                None => unhidden_share(q, &to),
            };
            if share > 0.0 {
                found.push((level * share as f32, j as u32));
            }
        }
        found.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let most = REST * found.iter().map(|f| f.0).sum::<f32>();
        let mut little = 0.0;
        for (level, j) in found {
            little += level;
            if little > most {
                sources.list.push(j);
                continue;
            }
            let q = &self.patches()[j as usize];
            let share = match &q.crowd {
                Some(crowd) => crowd_share(solids, q, crowd, &to, OwnerIx::NONE),
                None => seen_share(solids, q, &to, OwnerIx::NONE),
            };
            add(&mut sources.rest, glow[j as usize], share);
        }
        sources
    }

    /// Bounced light in the middles of four parts of a patch, lux of linear sRGB.
    pub(super) fn light_of_parts(
        &self,
        solids: &Solids,
        glow: &[[f32; 3]],
        sources: &Sources,
        parts: &[Patch; 4],
    ) -> [[f32; 3]; 4] {
        let to = parts.each_ref().map(|p| p.receiver(p.at));
        let ends: [_; 8] = std::array::from_fn(|n| to[n % 4].at.as_vec3());
        let mut out = [sources.rest; 4];
        for j in &sources.list {
            let (q, glow) = (&self.patches()[*j as usize], glow[*j as usize]);
            if let Some(crowd) = &q.crowd {
                for (out, to) in out.iter_mut().zip(&to) {
                    add(out, glow, crowd_share(solids, q, crowd, to, OwnerIx::NONE));
                }
                continue;
            }
            let shares = to.each_ref().map(|to| unhidden_share(q, to));
            if shares.iter().all(|s| *s <= 0.0) {
                continue;
            }
            let lines = Eight::to_points((q.at + q.normal * OFF_M).as_vec3(), ends);
            let blocked = solids.eight_blocked(&Few::ALL, &lines, OwnerIx::NONE);
            for (n, share) in shares.into_iter().enumerate().filter(|(n, _)| blocked >> n & 1 == 0) {
                add(&mut out[n], glow, share);
            }
        }
        out
    }

    /// Bounced light on a flat receptor, lux of linear sRGB.
    pub(super) fn flat(&self, solids: &Solids, glow: &[[f32; 3]], to: &Receiver, skip: OwnerIx) -> [f32; 3] {
        let seen = Seen::from(self.rooms(), to.at.truncate());
        let mut out = [0.0; 3];
        for (q, glow) in self.patches().iter().zip(glow) {
            if glow.iter().sum::<f32>() <= 0.0 || !seen.holds(q) {
                continue;
            }
            let share = match &q.crowd {
                Some(crowd) => crowd_share(solids, q, crowd, to, skip),
                None => part_share(solids, q, to, skip),
            };
            add(&mut out, *glow, share);
        }
        out
    }

    /// Bounced light at a point on flat receptors that look along +x, −x, +y, −y, +z and −z, lux of linear sRGB.
    pub(super) fn round(&self, solids: &Solids, glow: &[[f32; 3]], at: DVec3, skip: OwnerIx) -> [[f32; 3]; 6] {
        let to = [DVec3::X, DVec3::NEG_X, DVec3::Y, DVec3::NEG_Y, DVec3::Z, DVec3::NEG_Z].map(|toward| Receiver {
            at,
            toward,
            receptor: Receptor::Flat,
        });
        let seen = Seen::from(self.rooms(), at.truncate());
        let mut out = [[0.0; 3]; 6];
        for (q, glow) in self.patches().iter().zip(glow) {
            let dark = glow.iter().sum::<f32>() <= 0.0;
            if dark || (q.crowd.is_none() && q.normal.dot(q.at - at) >= 0.0) || !seen.holds(q) {
                continue;
            }
            let shares = match &q.crowd {
                Some(crowd) => to.each_ref().map(|to| crowd_share(solids, q, crowd, to, skip)),
                None => to.each_ref().map(|to| unhidden_share(q, to)),
            };
            let hidden = || solids.blocked(at.as_vec3(), (q.at + q.normal * OFF_M).as_vec3(), skip);
            if shares.iter().all(|s| *s <= 0.0) || (q.crowd.is_none() && hidden()) {
                continue;
            }
            out.iter_mut().zip(shares).for_each(|(out, share)| add(out, *glow, share));
        }
        out
    }
}
