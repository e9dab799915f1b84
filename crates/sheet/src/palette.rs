//! Colours: people after Okabe & Ito (2008), levels of light after the viridis map (CC0).

use crate::marks::Ink;

/// Paper.
pub const BACKGROUND: Ink = Ink::rgb(255, 255, 255);

/// Colours of a drawing, for paper or a dark screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Palette {
    /// Behind everything.
    pub paper: Ink,
    /// Floors.
    pub floor: Ink,
    /// Walls.
    pub wall: Ink,
    /// Text and symbols.
    pub ink: Ink,
    /// Quiet lines and text.
    pub quiet: Ink,
    /// Furniture.
    pub piece: Ink,
    /// Glass.
    pub glass: Ink,
    /// The camera and its field.
    pub camera: Ink,
    /// What is wrong.
    pub wrong: Ink,
    /// What is clear.
    pub clear: Ink,
    /// What is selected.
    pub selected: Ink,
}

impl Palette {
    /// What is black: cloth, on white paper as on a dark screen.
    #[must_use]
    pub fn black(&self) -> Ink {
        if self.ink.g < self.paper.g { self.ink } else { self.paper }
    }

    /// What is white: a bounce board.
    #[must_use]
    pub fn white(&self) -> Ink {
        if self.ink.g < self.paper.g { self.paper } else { self.ink }
    }

    /// Black on white.
    pub const PAPER: Palette = Palette {
        paper: Ink::rgb(255, 255, 255),
        floor: Ink::rgb(250, 249, 246),
        wall: Ink::rgb(52, 54, 60),
        ink: Ink::rgb(24, 26, 30),
        quiet: Ink::rgb(102, 106, 114),
        piece: Ink::rgb(226, 221, 211),
        glass: Ink::rgb(86, 160, 205),
        camera: Ink::rgb(30, 92, 150),
        wrong: Ink::rgb(196, 66, 0),
        clear: Ink::rgb(0, 130, 95),
        selected: Ink::rgb(204, 110, 0),
    };
    /// For a light screen: the sheet's inks on a warm table.
    pub const LIGHT: Palette = Palette {
        paper: Ink::rgb(0xec, 0xe8, 0xe0),
        floor: Ink::rgb(0xff, 0xff, 0xff),
        wall: Ink::rgb(0x2c, 0x2e, 0x33),
        ink: Ink::rgb(0x23, 0x25, 0x2a),
        quiet: Ink::rgb(0x62, 0x64, 0x5f),
        piece: Ink::rgb(0xf2, 0xef, 0xe9),
        glass: Ink::rgb(0x4f, 0x98, 0xc4),
        camera: Ink::rgb(0x2f, 0x6f, 0x8f),
        wrong: Ink::rgb(0xa6, 0x4c, 0x15),
        clear: Ink::rgb(0x25, 0x6d, 0x50),
        selected: Ink::rgb(0x9a, 0x5b, 0x00),
    };
    /// For a dark screen.
    pub const DARK: Palette = Palette {
        paper: Ink::rgb(0x18, 0x19, 0x1b),
        floor: Ink::rgb(0x2a, 0x2b, 0x30),
        wall: Ink::rgb(0xc9, 0xc7, 0xc2),
        ink: Ink::rgb(0xec, 0xea, 0xe6),
        quiet: Ink::rgb(0xa9, 0xa8, 0xa4),
        piece: Ink::rgb(0x3a, 0x3b, 0x41),
        glass: Ink::rgb(0x6e, 0xba, 0xe8),
        camera: Ink::rgb(0x79, 0xb8, 0xd4),
        wrong: Ink::rgb(0xf0, 0x95, 0x5a),
        clear: Ink::rgb(0x6c, 0xc3, 0x9b),
        selected: Ink::rgb(0xff, 0xbe, 0x50),
    };
    /// Black, white and strong colours: every ink at least 7 : 1 on its paper (WCAG 2.1, 1.4.6).
    pub const CONTRAST: Palette = Palette {
        paper: Ink::rgb(0, 0, 0),
        floor: Ink::rgb(0, 0, 0),
        wall: Ink::rgb(255, 255, 255),
        ink: Ink::rgb(255, 255, 255),
        quiet: Ink::rgb(200, 200, 200),
        piece: Ink::rgb(64, 64, 64),
        glass: Ink::rgb(120, 220, 255),
        camera: Ink::rgb(120, 220, 255),
        wrong: Ink::rgb(255, 160, 90),
        clear: Ink::rgb(90, 240, 170),
        selected: Ink::rgb(255, 220, 0),
    };
    /// Dim and without red: beside a lit set no warm light falls from the screen.
    pub const NIGHT: Palette = Palette {
        paper: Ink::rgb(0, 5, 6),
        floor: Ink::rgb(0, 12, 14),
        wall: Ink::rgb(0, 88, 92),
        ink: Ink::rgb(0, 164, 164),
        quiet: Ink::rgb(0, 139, 142),
        piece: Ink::rgb(0, 34, 38),
        glass: Ink::rgb(0, 90, 130),
        camera: Ink::rgb(0, 110, 160),
        wrong: Ink::rgb(0, 200, 200),
        clear: Ink::rgb(0, 146, 70),
        selected: Ink::rgb(0, 190, 120),
    };
}

/// The colour of the n-th person (Okabe–Ito, without its black and yellow).
#[must_use]
pub fn person_ink(n: usize) -> Ink {
    const INKS: [Ink; 6] = [
        Ink::rgb(213, 94, 0),
        Ink::rgb(0, 114, 178),
        Ink::rgb(0, 158, 115),
        Ink::rgb(204, 121, 167),
        Ink::rgb(86, 180, 233),
        Ink::rgb(230, 159, 0),
    ];
    INKS[n % INKS.len()]
}

/// A level as a colour: `u` from 0 (dark) to 1 (bright), viridis sampled at ninths.
#[must_use]
pub fn level_colour(u: f64) -> Ink {
    const STOPS: [[f64; 3]; 9] = [
        [68., 1., 84.],
        [71., 44., 122.],
        [59., 81., 139.],
        [44., 113., 142.],
        [33., 144., 141.],
        [39., 173., 129.],
        [92., 200., 99.],
        [170., 220., 50.],
        [253., 231., 37.],
    ];
    let x = u.clamp(0.0, 1.0) * 8.0;
    let i = (x as usize).min(7);
    let t = x - i as f64;
    let c = |k: usize| (STOPS[i][k] + (STOPS[i + 1][k] - STOPS[i][k]) * t).round() as u8;
    Ink::rgb(c(0), c(1), c(2))
}
