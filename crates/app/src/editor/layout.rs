//! How the window is laid out, kept from one run to the next.

use super::state::Editor;
use crate::files::{Layout, Memory};

impl Editor {
    /// Lays the window out as it was last.
    pub fn remember(&mut self, memory: Memory) {
        let l = &memory.layout;
        self.look = memory.look.unwrap_or_default();
        (self.snap, self.dimensions, self.taping) = (l.snap, l.dimensions, l.taping);
        (self.light.on, self.lens.shown) = (l.light, l.lens);
        self.memory = memory;
    }

    /// How the window is laid out.
    #[must_use]
    pub fn layout(&self) -> Layout {
        Layout {
            type_size: self.memory.layout.type_size,
            snap: self.snap,
            dimensions: self.dimensions,
            taping: self.taping,
            light: self.light.on || self.blocking.shown,
            lens: self.lens.shown,
        }
    }

    /// Keeps how the window is laid out for the next time.
    pub(crate) fn keep_layout(&mut self) {
        let layout = self.layout();
        if layout != self.memory.layout {
            self.memory.layout = layout;
            self.memory.write();
        }
    }
}
