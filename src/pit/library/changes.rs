//! Kinds of change and what each asks to be proved again.

use serde::Deserialize;

/// Every kind of change.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ChangeFile {
    /// Counts up when the meaning of the file changes.
    pub version: u32,
    /// What the file holds.
    pub note: String,
    /// The kinds.
    pub kinds: Vec<ChangeKind>,
}

impl ChangeFile {
    /// The kind called `id`.
    pub fn kind(&self, id: &str) -> Option<&ChangeKind> {
        self.kinds.iter().find(|kind| kind.id == id)
    }
}

/// When the machine is weighed again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Weigh {
    /// Not for this.
    No,
    /// Unless the weights of the parts prove it; for planning this counts as called.
    IfNotProvable,
    /// In any case.
    Always,
}

/// What becomes of the link plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanAsked {
    /// Nothing.
    No,
    /// Somebody says that it still holds.
    Confirm,
    /// It is written and read back anew.
    Rewrite,
}

/// A kind of change.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ChangeKind {
    /// Unique.
    pub id: String,
    /// What people call it.
    pub label: String,
    /// When the machine is weighed again.
    pub weigh: Weigh,
    /// The failsafe is proved again.
    pub failsafe: bool,
    /// The inspector looks again.
    pub inspection: bool,
    /// What becomes of the link plan.
    pub link_plan: PlanAsked,
    /// The drive is tried.
    pub drive_check: bool,
    /// The gas path is tried for leaks.
    pub leak_test: bool,
    /// The weapon is tried.
    pub weapon_test: bool,
    /// Hazard rules that ask for it.
    pub rules: Vec<String>,
    /// What else there is to know.
    pub note: String,
}
