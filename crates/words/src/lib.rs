//! What Tapemark says, in each of its languages.
//!
//! Every text has an identifier and stands in the Fluent files of `assets/words`, one folder a language.
//! [`say!`] looks it up in the language that is spoken; numbers that it is given are written by [`figure`]
//! and [`signed`], with the decimal mark of that language.
//!
//! Format: Project Fluent, Fluent Syntax 1.0 (<https://github.com/projectfluent/fluent/blob/master/spec>).
#![deny(missing_docs)]

mod figures;
mod texts;

pub use figures::{Real, figure, localized, signed};
pub use texts::{Given, GivenNumber, GivenWords, Said, Wrapped, text, text_with, texts_of};

use std::sync::atomic::{AtomicU8, Ordering};

/// A language that Tapemark speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
}

impl Language {
    /// All of them, in the order they are offered.
    pub const ALL: [Self; 2] = [Self::English, Self::German];

    /// Its tag by BCP 47.
    #[must_use]
    pub const fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
        }
    }

    /// What those who speak it call it.
    #[must_use]
    pub const fn own_name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::German => "Deutsch",
        }
    }

    /// The one that a tag by BCP 47 or a POSIX locale (`de-AT`, `de_DE.UTF-8`) asks for, if it is spoken here.
    #[must_use]
    pub fn of_tag(tag: &str) -> Option<Self> {
        let first = tag.split(['-', '_', '.', '@']).next().unwrap_or_default().to_ascii_lowercase();
        Self::ALL.into_iter().find(|l| l.tag() == first)
    }
}

static SPOKEN: AtomicU8 = AtomicU8::new(0);

/// The language that is spoken; English until [`speak`] is called.
#[must_use]
pub fn spoken() -> Language {
    Language::ALL[usize::from(SPOKEN.load(Ordering::Relaxed)) % Language::ALL.len()]
}

/// Speaks another language from now on, in the whole process.
pub fn speak(language: Language) {
    let at = Language::ALL.iter().position(|l| *l == language).unwrap_or(0);
    SPOKEN.store(at as u8, Ordering::Relaxed);
}

/// A text in the language that is spoken.
///
/// `say!("id")` is a `&'static str`; with values, `say!("id", name = value, other)`, it is a `String`. A value is
/// anything that can be displayed; whole numbers also choose between singular and plural.
#[macro_export]
macro_rules! say {
    ($id:literal $(,)?) => {{
        // Looked up once for each language, where it is said.
        static SAID: $crate::Said = $crate::Said::new();
        SAID.text($id)
    }};
    ($id:expr $(,)?) => { $crate::text($id) };
    ($id:expr, $($name:ident $(= $value:expr)?),+ $(,)?) => {
        $crate::text_with($id, &[$((stringify!($name), $crate::say!(@ $name $($value)?))),+])
    };
    (@ $name:ident) => { $crate::say!(@ $name $name) };
    (@ $name:ident $value:expr) => {{
        use $crate::{GivenNumber as _, GivenWords as _};
        (&$crate::Wrapped(&$value)).given()
    }};
}
