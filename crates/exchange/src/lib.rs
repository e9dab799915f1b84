//! Plans to and from other programs' formats, all by libraries: outlines in from DXF and SVG, plans out to DXF,
//! scenes out to glTF. Bytes in, bytes out; files are the caller's.
#![deny(missing_docs)]

mod drawing;
mod outlines;
mod scene;

pub use drawing::to_dxf;
pub use outlines::{Drawing, MAX_DRAWING_BYTES, Outlines, outlines};
pub use scene::to_glb;

use tapemark_words::say;

/// Why a file could not be brought in or handed on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExchangeError {
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub remedy: String,
    /// Whether all that is wrong is that nobody said how long a unit is.
    pub lacks_unit: bool,
}

impl ExchangeError {
    fn new(what: impl Into<String>, remedy: impl Into<String>) -> ExchangeError {
        ExchangeError { what: what.into(), remedy: remedy.into(), lacks_unit: false }
    }

    /// A drawing whose unit is not known.
    fn of_no_unit(what: &str) -> ExchangeError {
        ExchangeError { lacks_unit: true, ..ExchangeError::new(what, say!("say-how-long-a-unit-is")) }
    }
}

impl std::fmt::Display for ExchangeError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.what, self.remedy)
    }
}
impl std::error::Error for ExchangeError {}
