//! Tapemark's editor and command line.
//!
//! The editor paints the marks of `tapemark-sheet` and shows the numbers of `tapemark-core`; it holds no
//! formula of its own. Everything that changes a plan goes through one `Edit`.

pub mod cli;
pub mod editor;
pub mod files;
pub mod journal;
pub mod words;
