//! What a drawing is made of. Positions are in the drawing's space (plan metres, y up, or page
//! millimetres, y down); line widths and text sizes are always millimetres on paper.

use glam::DVec2;
use tapemark_core::edit::ItemRef;

/// A colour with opacity, sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ink {
    /// Red.
    pub r: u8,
    /// Green.
    pub g: u8,
    /// Blue.
    pub b: u8,
    /// Opacity.
    pub a: u8,
}

impl Ink {
    /// An opaque colour.
    #[must_use]
    pub const fn rgb(r: u8, g: u8, b: u8) -> Ink {
        Ink { r, g, b, a: 255 }
    }
    /// The same colour at another opacity, 0–1.
    #[must_use]
    pub fn faded(self, opacity: f64) -> Ink {
        Ink { a: (f64::from(self.a) * opacity.clamp(0.0, 1.0)).round() as u8, ..self }
    }
}

/// A stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Colour.
    pub ink: Ink,
    /// Width, millimetres on paper.
    pub width_mm: f64,
    /// Dash and gap, millimetres on paper.
    pub dash_mm: Option<[f64; 2]>,
}

impl Line {
    /// A solid stroke.
    #[must_use]
    pub const fn new(ink: Ink, width_mm: f64) -> Line {
        Line { ink, width_mm, dash_mm: None }
    }
    /// The same stroke, dashed.
    #[must_use]
    pub const fn dashed(self, dash: f64, gap: f64) -> Line {
        Line { dash_mm: Some([dash, gap]), ..self }
    }
}

/// Horizontal place of text about its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Starts there.
    Left,
    /// Centred there.
    Middle,
    /// Ends there.
    Right,
}

/// Weight of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Regular.
    Regular,
    /// Semi-bold.
    Bold,
}

/// What is drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A line through points.
    Polyline {
        /// Points.
        points: Vec<DVec2>,
        /// Stroke.
        line: Line,
    },
    /// A closed, filled polygon; not necessarily convex.
    Polygon {
        /// Corners.
        points: Vec<DVec2>,
        /// Fill.
        fill: Option<Ink>,
        /// Stroke.
        line: Option<Line>,
    },
    /// Text on one line, centred on its height.
    Text {
        /// Its point.
        at: DVec2,
        /// What it says.
        text: String,
        /// Height of the type, millimetres on paper.
        size_mm: f64,
        /// Colour.
        ink: Ink,
        /// Weight.
        weight: Weight,
        /// Place about the point.
        align: Align,
        /// Turned clockwise on paper, degrees.
        turn_deg: f64,
        /// Paper colour behind it, so that it reads over lines.
        halo: Option<Ink>,
    },
    /// Even cells of colour.
    Raster {
        /// Corner with the least coordinates.
        origin: DVec2,
        /// Cell size in the drawing's space.
        cell: f64,
        /// Cells across.
        nx: usize,
        /// Cells up (plan) or down (page).
        ny: usize,
        /// Four bytes a cell, sRGB and opacity; rows from the origin.
        rgba: Vec<u8>,
    },
}

/// Which part of the drawing a mark belongs to; drawn in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// Floors and the picture under the plan.
    Floor,
    /// Light over the floor.
    Light,
    /// The camera's field.
    Field,
    /// Furniture and dressing.
    Pieces,
    /// Walls, doors, windows.
    Walls,
    /// Lines of sight.
    Sight,
    /// Lamps.
    Lamps,
    /// People.
    People,
    /// Cameras.
    Cameras,
    /// Dimensions.
    Dimensions,
    /// Names and notices.
    Words,
    /// Page furniture.
    Page,
}

impl Layer {
    /// All of them, in the order they are drawn.
    pub const ALL: [Layer; 12] = [
        Layer::Floor,
        Layer::Light,
        Layer::Field,
        Layer::Pieces,
        Layer::Walls,
        Layer::Sight,
        Layer::Lamps,
        Layer::People,
        Layer::Cameras,
        Layer::Dimensions,
        Layer::Words,
        Layer::Page,
    ];
}

/// The turn of words that nobody ranked.
const LAST_TURN: u8 = 9;

/// One drawn thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where in the order.
    pub layer: Layer,
    /// What it stands for.
    pub item: Option<ItemRef>,
    /// Of words: which find their place first, the lowest before others.
    pub turn: u8,
    /// What is drawn.
    pub shape: Shape,
}

impl Mark {
    /// A mark that stands for nothing of the plan.
    #[must_use]
    pub fn new(layer: Layer, shape: Shape) -> Mark {
        Mark { layer, item: None, turn: LAST_TURN, shape }
    }
    /// The mark, standing for an item.
    #[must_use]
    pub fn of(mut self, item: ItemRef) -> Mark {
        self.item = Some(item);
        self
    }

    /// The same mark after every position has been mapped; lines and text keep their paper size.
    #[must_use]
    pub fn mapped(&self, place: impl Fn(DVec2) -> DVec2, scale: f64, flipped: Flip) -> Mark {
        let shape = match &self.shape {
            Shape::Polyline { points, line } => {
                Shape::Polyline { points: points.iter().map(|p| place(*p)).collect(), line: *line }
            }
            Shape::Polygon { points, fill, line } => {
                Shape::Polygon { points: points.iter().map(|p| place(*p)).collect(), fill: *fill, line: *line }
            }
            Shape::Text { at, text, size_mm, ink, weight, align, turn_deg, halo } => Shape::Text {
                at: place(*at),
                text: text.clone(),
                size_mm: *size_mm,
                ink: *ink,
                weight: *weight,
                align: *align,
                turn_deg: *turn_deg,
                halo: *halo,
            },
            Shape::Raster { origin, cell, nx, ny, rgba } => match flipped {
                Flip::None => {
                    Shape::Raster { origin: place(*origin), cell: cell * scale, nx: *nx, ny: *ny, rgba: rgba.clone() }
                }
                Flip::Rows => {
                    let rows: Vec<u8> = rgba.chunks(nx.max(&1) * 4).rev().flatten().copied().collect();
                    let top = place(*origin + DVec2::new(0.0, *ny as f64 * cell));
                    Shape::Raster { origin: top, cell: cell * scale, nx: *nx, ny: *ny, rgba: rows }
                }
            },
        };
        Mark { layer: self.layer, item: self.item.clone(), turn: self.turn, shape }
    }
}

/// Whether a map turns rows over (plan y runs up, page y down).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flip {
    /// Rows keep their order.
    None,
    /// Rows turn over.
    Rows,
}

/// A circle as a polygon.
#[must_use]
pub fn circle(centre: DVec2, radius: f64) -> Vec<DVec2> {
    ellipse(centre, DVec2::new(radius, 0.0), DVec2::new(0.0, radius))
}

/// An ellipse on two half-axes as a polygon.
#[must_use]
pub fn ellipse(centre: DVec2, u: DVec2, v: DVec2) -> Vec<DVec2> {
    (0..36)
        .map(|i| {
            let (s, c) = (f64::from(i) * std::f64::consts::TAU / 36.0).sin_cos();
            centre + u * c + v * s
        })
        .collect()
}
