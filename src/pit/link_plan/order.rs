//! The order of a plan's steps, read from their words, beside what the event asks.

use crate::calc::units::Note;
use crate::pit::settings::{BarOff, Settings, TransmitterOn};

/// One of the acts that make a machine live, or safe again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// The transmitter.
    Transmitter,
    /// The bottle.
    Gas,
    /// The link.
    Link,
    /// The weapon's restraint.
    Bar,
}

impl Act {
    /// What it is about, in words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Transmitter => "transmitter",
            Self::Gas => "gas",
            Self::Link => "link",
            Self::Bar => "weapon bar",
        }
    }
}

/// One act comes before another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Before {
    /// This one.
    pub first: Act,
    /// Before this one.
    pub then: Act,
}

const fn before(first: Act, then: Act) -> Before {
    Before { first, then }
}

/// What the event asks of the order of arming. **Source** the bar is on while the power comes on R4,
/// R7; bar before or after the gas F1; transmitter before the main power R1, or only once nobody is
/// inside F22.
pub fn of_arming(settings: &Settings) -> Vec<Before> {
    let mut order = vec![before(Act::Link, Act::Bar)];
    order.push(match settings.bar_off {
        BarOff::AfterGas => before(Act::Gas, Act::Bar),
        BarOff::BeforeGas => before(Act::Bar, Act::Gas),
    });
    match settings.transmitter_on {
        TransmitterOn::BeforePower => order.push(before(Act::Transmitter, Act::Link)),
        TransmitterOn::AfterPeopleAreOut => {
            order.push(before(Act::Link, Act::Transmitter));
            order.push(before(Act::Bar, Act::Transmitter));
        }
    }
    order
}

/// What the event asks of the order of making safe. **Source** bar first F2; the transmitter stays
/// with the driver until the link is out R1, or is off while people are inside F22.
pub fn of_making_safe(settings: &Settings) -> Vec<Before> {
    let mut order = vec![before(Act::Bar, Act::Link), before(Act::Bar, Act::Gas)];
    order.push(match settings.transmitter_on {
        TransmitterOn::BeforePower => before(Act::Link, Act::Transmitter),
        TransmitterOn::AfterPeopleAreOut => before(Act::Transmitter, Act::Bar),
    });
    order
}

/// What of an order the steps do not keep. Acts they do not speak of are no matter of order.
pub fn not_kept(steps: &[Note], order: Vec<Before>) -> Vec<Before> {
    let acts = acts(steps);
    let place = |act: Act| acts.iter().position(|other| *other == act);
    order
        .into_iter()
        .filter(|asked| match (place(asked.first), place(asked.then)) {
            (Some(first), Some(then)) => first > then,
            _ => false,
        })
        .collect()
}

/// Words by which a step is known to be an act; the first that comes in the step decides.
const WORDS: [(&str, Act); 12] = [
    ("transmitter", Act::Transmitter),
    ("radio", Act::Transmitter),
    ("tx", Act::Transmitter),
    ("bottle", Act::Gas),
    ("gas", Act::Gas),
    ("valve", Act::Gas),
    ("dump", Act::Gas),
    ("link", Act::Link),
    ("bar", Act::Bar),
    ("lock", Act::Bar),
    ("restraint", Act::Bar),
    ("pin", Act::Bar),
];

/// The acts that the steps speak of, each once, in their order.
///
/// **Assumptions** a step is about the first thing that it names; one that names none is not an act.
pub fn acts(steps: &[Note]) -> Vec<Act> {
    let mut acts = Vec::new();
    for step in steps {
        if let Some(act) = act(step.as_str())
            && !acts.contains(&act)
        {
            acts.push(act);
        }
    }
    acts
}

fn act(step: &str) -> Option<Act> {
    step.split(|c: char| !c.is_alphanumeric()).find_map(|word| {
        let word = word.to_lowercase();
        let known = |(name, _): &&(&str, Act)| word == *name;
        WORDS.iter().find(known).map(|(_, act)| *act)
    })
}
