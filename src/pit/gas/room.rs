//! What gas that gets out does to the room bottles are filled in.

use super::hall_degc;
use crate::calc::gas::{Gas, GasRoomInput, GasRoomOutput, gas_room};
use crate::pit::state::Pit;

/// The air of the room bottles are filled in if `grams` of CO2 got out at once; nothing in the open
/// or in a hall.
///
/// **Units** g.
///
/// **Assumptions** no fresh air, mixed with the whole room; it lies low, so that the floor has more.
pub fn if_let_go(pit: &Pit, grams: i32) -> Option<GasRoomOutput> {
    let room = pit.settings().gas_room_m3?;
    gas_room(&GasRoomInput {
        gas: Gas::Co2,
        released_kg: f64::from(grams) / 1000.0,
        release_min: 0.0,
        room_volume_m3: f64::from(room.get()),
        mixed_share: 1.0,
        air_changes_per_h: 0.0,
        temperature_degc: hall_degc(pit),
    })
    .ok()
}
