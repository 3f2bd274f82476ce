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

/// Who ends what a rule found.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, Deserialize, utoipa::ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ClearsBy {
    /// One named person's account that it is not so any more.
    Account,
    /// One person puts it right, another looks.
    SecondPerson,
    /// Two people, once its time is over.
    TwoPeople,
    /// A marshal's word.
    Marshal,
}

impl ClearsBy {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Account => "one named person says what is so now",
            Self::SecondPerson => "one person puts it right, another looks and says so",
            Self::TwoPeople => "two people say so once the observation is over",
            Self::Marshal => "a marshal says so, or it is put right",
        }
    }
}

/// How far to trust a rule.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, Deserialize, utoipa::ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// From a published rule or guide that was read.
    Published,
    /// From a rule as somebody else quotes it.
    Quoted,
    /// Common practice, told by people who do it.
    Common,
    /// This tool's own.
    Own,
}

impl Mark {
    /// The word people read.
    pub fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Quoted => "quoted",
            Self::Common => "common practice",
            Self::Own => "own",
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
    exposure: String,
    settings: Vec<String>,
    clears_by: ClearsBy,
    mark: Mark,
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

    /// Who has to be exposed before it speaks.
    pub fn exposure(&self) -> &str {
        &self.exposure
    }

    /// Settings of the event that change it.
    pub fn settings(&self) -> &[String] {
        &self.settings
    }

    /// Who ends what it found.
    pub fn clears_by(&self) -> ClearsBy {
        self.clears_by
    }

    /// How far to trust it.
    pub fn mark(&self) -> Mark {
        self.mark
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
