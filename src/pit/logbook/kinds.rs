//! The one table of kinds: name, what it is about, whether it is about a state, and its body.

use super::{bout, hall, link_plan, machine, photo, register, station, stock, things, work};
use crate::calc::{fault::Fault, strict};
use serde_json::Value;

/// What a kind of line is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Family {
    /// The full after-image of something that exists; carries `if_revision`.
    Register,
    /// Something that happened or was seen.
    Fact,
    /// Written by linkout itself.
    Plan,
}

macro_rules! kinds {
    ($($(#[doc = $tells:literal])* $variant:ident($body:ty) = $name:literal, $family:ident, $subject:literal, $state:literal;)*) => {
        /// A kind of line.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Kind { $($(#[doc = $tells])* $variant,)* }

        /// What a line says, by its kind.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Body { $($(#[doc = $tells])* $variant($body),)* }

        impl Kind {
            /// Every kind.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The kind as written in JSON and the database.
            pub fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }

            /// What its lines tell, in a sentence.
            pub fn tells(self) -> &'static str {
                match self { $(Self::$variant => concat!($($tells),*).trim_ascii(),)* }
            }

            /// What it is for.
            pub fn family(self) -> Family {
                match self { $(Self::$variant => Family::$family,)* }
            }

            /// The noun of the subject it is about.
            pub fn subject(self) -> &'static str {
                match self { $(Self::$variant => $subject,)* }
            }

            /// Whether its lines say `did` or `saw`.
            pub fn about_a_state(self) -> bool {
                match self { $(Self::$variant => $state,)* }
            }

            /// Adds the schema of its body and of all it refers to, for the published document, and
            /// returns its name.
            pub fn schemas(
                self,
                schemas: &mut Vec<(String, utoipa::openapi::RefOr<utoipa::openapi::schema::Schema>)>,
            ) -> String {
                match self { $(Self::$variant => {
                    let name = <$body as utoipa::ToSchema>::name().into_owned();
                    schemas.push((name.clone(), <$body as utoipa::PartialSchema>::schema()));
                    <$body as utoipa::ToSchema>::schemas(schemas);
                    name
                })* }
            }
        }

        impl Body {
            /// The kind of this body.
            pub fn kind(&self) -> Kind {
                match self { $(Self::$variant(_) => Kind::$variant,)* }
            }

            /// Reads the body of a line of `kind`; `base` is the pointer of the body.
            ///
            /// # Errors
            /// Every fault with its pointer.
            pub fn read(kind: Kind, value: &Value, base: &str) -> Result<Self, Vec<Fault>> {
                match kind { $(Kind::$variant => strict::read::<$body>(value, base).map(Self::$variant),)* }
            }

            /// The body as published and stored.
            pub fn to_value(&self) -> Value {
                match self { $(Self::$variant(body) => serde_json::to_value(body),)* }
                    .unwrap_or(Value::Null)
            }
        }
    };
}

kinds! {
    /// The event, its settings and its emergency text.
    RegisterEvent(register::Event) = "register_event", Register, "event", false;
    /// A team.
    RegisterTeam(register::Team) = "register_team", Register, "team", false;
    /// A person, without the name, which is kept apart.
    RegisterPerson(register::Person) = "register_person", Register, "person", false;
    /// A robot in one configuration.
    RegisterRobot(register::Robot) = "register_robot", Register, "robot", false;
    /// A pack.
    RegisterPack(register::Pack) = "register_pack", Register, "pack", false;
    /// A set of packs.
    RegisterSet(register::Set) = "register_set", Register, "set", false;
    /// A charger channel.
    RegisterChannel(register::Channel) = "register_channel", Register, "channel", false;
    /// A charger.
    RegisterCharger(register::Charger) = "register_charger", Register, "charger", false;
    /// A generator, mains circuit or lead.
    RegisterCircuit(register::Circuit) = "register_circuit", Register, "circuit", false;
    /// A gas bottle.
    RegisterBottle(register::Bottle) = "register_bottle", Register, "bottle", false;
    /// A supply cylinder.
    RegisterSupply(register::Supply) = "register_supply", Register, "supply", false;
    /// A type of part.
    RegisterPartType(register::PartType) = "register_part_type", Register, "part", false;
    /// A bout and its call.
    RegisterBout(register::Bout) = "register_bout", Register, "bout", false;
    /// A team's own changes to the task library of a machine type.
    RegisterLibrary(register::Library) = "register_library", Register, "team", false;

    /// State of the links and who holds them.
    Link(machine::Link) = "link", Fact, "robot", true;
    /// Bottle valve and system pressure.
    Gas(machine::Gas) = "gas", Fact, "robot", true;
    /// The weapon bar: on, held by a second restraint, off.
    WeaponBar(machine::WeaponBar) = "weapon_bar", Fact, "robot", true;
    /// The transmitter: off or on, and with whom.
    Transmitter(machine::Transmitter) = "transmitter", Fact, "robot", true;
    /// The power light: dark or lit.
    PowerLight(machine::PowerLight) = "power_light", Fact, "robot", true;
    /// Stored mechanical energy: rotor, arm, spring.
    Stored(machine::Stored) = "stored", Fact, "robot", true;
    /// A part that energy cannot be proved gone without.
    Trouble(machine::Trouble) = "trouble", Fact, "robot", true;
    /// The stand: wheels clear or not.
    Stand(machine::Stand) = "stand", Fact, "robot", true;
    /// Every source looked at again, with what was found.
    Looked(machine::Looked) = "looked", Fact, "robot", true;
    /// Where the robot is.
    Place(machine::PlaceOf) = "place", Fact, "robot", true;

    /// A set's or pack's place, looks and volts.
    Pack(things::Pack) = "pack", Fact, "robot", true;
    /// A charge started or ended.
    Charge(things::Charge) = "charge", Fact, "robot", true;
    /// A bottle's place, looks and mass.
    Bottle(things::Bottle) = "bottle", Fact, "robot", true;
    /// A supply cylinder weighed.
    SupplyWeighed(things::SupplyWeighed) = "supply_weighed", Fact, "supply", false;
    /// A part swapped.
    Part(things::Part) = "part", Fact, "robot", true;
    /// Spares that came, went, changed or were counted.
    Stock(stock::Stock) = "stock", Fact, "part", false;
    /// Borrowed or lent things that are not home yet.
    Loan(things::Loan) = "loan", Fact, "robot", true;
    /// Things counted.
    Count(things::Counted) = "count", Fact, "robot", true;

    /// Damage by area and kind.
    Damage(work::Damage) = "damage", Fact, "robot", false;
    /// A photograph, whose bytes are kept under the line's id.
    Photo(photo::Photo) = "photo", Fact, "any", false;
    /// Something looked at, with what was found.
    Check(work::Check) = "check", Fact, "robot", true;
    /// A task started, finished or left out.
    Task(work::Task) = "task", Fact, "robot", true;
    /// Weight, inspection, failsafe, leak or weapon proved.
    Proof(work::Proof) = "proof", Fact, "robot", true;
    /// A change made to the machine.
    Changed(work::Changed) = "changed", Fact, "robot", false;
    /// Who has a duty.
    Duty(work::Duty) = "duty", Fact, "robot", true;

    /// A robot at a station: asked, next, being served, served, left.
    Station(station::AtStation) = "station", Fact, "robot", false;

    /// The link plan saved, read back or confirmed.
    LinkPlan(link_plan::LinkPlan) = "link_plan", Fact, "robot", true;

    /// A robot called to the arena queue.
    Called(bout::Called) = "called", Fact, "bout", false;
    /// A crew's answer to its call, or an official's word for a silent team.
    Answered(bout::Answered) = "answered", Fact, "robot", false;
    /// A postponement asked for, granted or refused.
    Postponement(bout::Postponement) = "postponement", Fact, "robot", false;
    /// A bout begins.
    BoutStarted(bout::Started) = "bout_started", Fact, "bout", false;
    /// A bout is over.
    BoutEnded(bout::Ended) = "bout_ended", Fact, "bout", false;
    /// Every call from a bout on moves.
    CallsMoved(bout::CallsMoved) = "calls_moved", Fact, "event", false;

    /// The marshal allows a robot to be live here, under their eye.
    AllowedHere(hall::AllowedHere) = "allowed_here", Fact, "robot", false;
    /// A clearance to arm, asked for or answered.
    Clearance(hall::Clearance) = "clearance", Fact, "robot", false;
    /// People inside with a robot, and whether whoever arms is watched.
    Inside(hall::Inside) = "inside", Fact, "robot", true;
    /// The air where bottles are filled.
    Air(hall::Air) = "air", Fact, "event", true;
    /// Danger seen at a robot.
    Danger(hall::Danger) = "danger", Fact, "robot", false;
    /// Everyone stop, or go on.
    EveryoneStop(hall::EveryoneStop) = "everyone_stop", Fact, "event", false;
    /// The organiser tells people something.
    Announced(hall::Announced) = "announced", Fact, "event", false;
    /// A person has seen an announcement.
    AnnouncementSeen(hall::AnnouncementSeen) = "announcement_seen", Fact, "person", false;
    /// What somebody says about a hazard.
    Hazard(hall::Hazard) = "hazard", Fact, "robot", false;

    /// A published turnaround plan.
    Planned(work::Planned) = "planned", Plan, "team", false;
    /// Takes back the line it corrects.
    Void(hall::Void) = "void", Fact, "any", false;
}

impl Kind {
    /// The kind written `text`.
    pub fn named(text: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.name() == text)
    }

    /// A sentence for a kind nobody knows, with the nearest there is.
    pub fn unknown(text: &str) -> String {
        let nearest = Self::ALL
            .iter()
            .map(|kind| kind.name())
            .max_by(|a, b| strsim::jaro_winkler(a, text).total_cmp(&strsim::jaro_winkler(b, text)))
            .unwrap_or_default();
        let text: String = text.chars().take(60).collect();
        format!("There is no kind '{text}'; the nearest is '{nearest}'.")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_kinds_are_their_own() {
        for kind in Kind::ALL {
            assert_eq!(Kind::named(kind.name()), Some(*kind));
        }
        assert_eq!(Kind::named("Link"), None);
        assert!(Kind::unknown("weapon_bra").contains("'weapon_bar'"));
    }
}
