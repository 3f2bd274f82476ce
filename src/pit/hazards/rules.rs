//! The text of the rules: title, what raises it, what to say, what clears it, where it comes from.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How bad a hazard is.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    Deserialize,
    utoipa::ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// For the record.
    #[serde(alias = "S1")]
    Note,
    /// Mend it before the next stage; the lead may accept it with a reason.
    #[serde(alias = "S2")]
    Warn,
    /// The machine may not leave its place, be armed, charged or filled.
    #[serde(alias = "S3")]
    Hold,
    /// A person may be in reach of live energy, fire or gas.
    #[serde(alias = "S4")]
    StopNow,
}

impl Severity {
    /// The word people use.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "Note",
            Self::Warn => "Warn",
            Self::Hold => "Hold",
            Self::StopNow => "Stop now",
        }
    }
}

/// A rule as written down.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    id: String,
    title: String,
    when: String,
    severity: Severity,
    escalates: Option<String>,
    tell: Vec<String>,
    advise: String,
    clears_when: String,
    basis: Vec<String>,
    needs: Vec<String>,
    likely_false_alarm: String,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
struct File {
    rules: Vec<Rule>,
}

static RULES: LazyLock<BTreeMap<String, Rule>> = LazyLock::new(|| {
    let file: File =
        serde_json::from_str(include_str!("data/rules.json")).expect("the rules as shipped");
    file.rules
        .into_iter()
        .map(|rule| (rule.id.clone(), rule))
        .collect()
});

impl Rule {
    /// The rule with this id.
    pub fn named(id: &str) -> Option<&'static Self> {
        RULES.get(id)
    }

    /// Every rule written down, in order of id.
    pub fn all() -> impl Iterator<Item = &'static Self> {
        RULES.values()
    }

    /// `H01` and so on.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What it is called.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// What raises it, in the words of the rule.
    pub fn when(&self) -> &str {
        &self.when
    }

    /// How bad it is when it is raised.
    pub fn severity(&self) -> Severity {
        self.severity
    }

    /// When it rises.
    pub fn escalates(&self) -> Option<&str> {
        self.escalates.as_deref()
    }

    /// Who is told.
    pub fn tell(&self) -> &[String] {
        &self.tell
    }

    /// What to do.
    pub fn advise(&self) -> &str {
        &self.advise
    }

    /// What clears it.
    pub fn clears_when(&self) -> &str {
        &self.clears_when
    }

    /// Sources, by their ids.
    pub fn basis(&self) -> &[String] {
        &self.basis
    }

    /// What has to be known to judge it.
    pub fn needs(&self) -> &[String] {
        &self.needs
    }

    /// When it is likely to be wrong.
    pub fn likely_false_alarm(&self) -> &str {
        &self.likely_false_alarm
    }

    /// What else there is to say.
    pub fn note(&self) -> &str {
        &self.note
    }
}
