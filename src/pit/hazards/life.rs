//! What people say about a hazard while it stands: seen, accepted, over, and open again.

use super::{Finding, Severity};
use crate::pit::ids::PersonId;
use crate::pit::logbook::hall::Said;
use crate::pit::state::RobotFile;
use chrono::{DateTime, Utc};

/// Who said it, and when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Word {
    /// Who.
    pub who: PersonId,
    /// When.
    pub at: DateTime<Utc>,
}

/// What people said about a hazard since it began. None of it ends a hazard whose condition still
/// holds: what is so is in the lines about the machine.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Life {
    /// Who has it open.
    pub seen_by: Vec<Word>,
    /// Accepted by the lead, with this reason; for warn and note only.
    pub accepted: Option<(Word, String)>,
    /// Who says that it is over, although by the lines it is not, or not yet for a second person.
    pub cleared_by: Vec<Word>,
    /// It was said to be over, or accepted, when it stood before: it is open again.
    pub reopened: bool,
}

impl Life {
    /// What was said about what `rule` found.
    pub fn of(file: &RobotFile, rule: &str, finding: &Finding) -> Self {
        let mut life = Self::default();
        let words = file.state.words.iter();
        for word in words.filter(|word| word.value.rule.as_str() == rule) {
            let Some(who) = word.seen_by else { continue };
            let said = Word { who, at: word.at };
            if word.at < finding.since {
                life.reopened |= word.value.said != Said::Seen;
                continue;
            }
            match word.value.said {
                Said::Seen => life.seen_by.push(said),
                Said::Cleared => {
                    life.seen_by.push(said);
                    life.cleared_by.push(said);
                }
                Said::Accepted if finding.severity <= Severity::Warn => {
                    let because = word.value.because.as_ref();
                    life.accepted =
                        Some((said, because.map_or_else(String::new, ToString::to_string)));
                }
                Said::Accepted => {}
            }
        }
        life
    }
}
