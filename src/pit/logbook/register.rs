//! What exists: the full after-image of a thing, as a register line carries it.

mod bout;
mod event;
mod gas;
mod library;
mod packs;
mod parts;
mod power;
mod robot;

pub use bout::{Bout, Slot};
pub use event::{Away, Event, Person, Team};
pub use gas::{Bottle, GasOf, GasSystem, Supply};
pub use library::{Library, TaskChange, ThreePoint};
pub use packs::{Chemistry, Pack, Set};
pub use parts::{FailurePrior, Fit, PartType, SeenElsewhere};
pub use power::{Channel, Charger, Circuit};
pub use robot::{BrokenBy, Configuration, Electrics, FedPart, Machine, Robot};
