//! Whether packs that are used together are alike.

use super::story::Story;
use crate::pit::logbook::register::Pack;
use chrono::{DateTime, Utc};

/// How the packs of a set compare, by what is written on them and what was read since their last
/// charge and bout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matching {
    /// They differ in chemistry, cells or capacity.
    Unlike,
    /// Somebody compared them then and says that they do not match.
    SaidUnlike(DateTime<Utc>),
    /// Not each of them was read.
    Unread,
    /// All were read.
    Read {
        /// Highest less lowest mean of their cells. **Units** mV.
        apart_mv: i32,
        /// When the last of them was read.
        at: DateTime<Utc>,
    },
}

impl Matching {
    /// How `packs` compare.
    pub fn of(packs: &[(&Pack, &Story)]) -> Self {
        let unlike = packs.windows(2).any(|two| {
            let (a, b) = (two[0].0, two[1].0);
            a.chemistry != b.chemistry || a.cells != b.cells || a.capacity_mah != b.capacity_mah
        });
        if unlike {
            return Self::Unlike;
        }
        let said = packs.iter().filter_map(|(_, story)| story.matched);
        if let Some((_, at)) = said.filter(|(matched, _)| !matched).max() {
            return Self::SaidUnlike(at);
        }
        Self::read(packs).unwrap_or(Self::Unread)
    }

    fn read(packs: &[(&Pack, &Story)]) -> Option<Self> {
        let mut means: Vec<i32> = Vec::new();
        let mut last = None;
        for (pack, story) in packs {
            let reading = story.reading_since_current()?;
            let cells = pack.cells.get();
            if cells == 0 {
                return None;
            }
            means.push(reading.cells_mv.iter().sum::<i32>() / cells);
            last = last.max(Some(reading.at));
        }
        Some(Self::Read {
            apart_mv: means.iter().max()? - means.iter().min()?,
            at: last?,
        })
    }
}
