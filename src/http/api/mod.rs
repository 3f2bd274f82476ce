//! The API, version 1: resources, each operation described where it is.

mod advice;
mod board;
mod calc;
mod calendars;
mod charging;
mod clearance;
mod conditional;
mod events;
mod forecast;
mod gas;
mod health;
mod line_form;
mod lines;
mod operation;
mod order;
mod packs;
mod page;
mod people;
mod photos;
mod register;
mod robots;
mod rules;
mod sessions;
mod spares;
mod stations;
pub mod stream;
mod tasks;
mod thing;

pub use calendars::path as calendar_path;

use super::problem::ProblemDocument;
use register::Collection;
use utoipa::{
    Modify, OpenApi,
    openapi::{
        OpenApi as Document,
        security::{HttpAuthScheme, HttpBuilder, SecurityScheme},
    },
};
use utoipa_actix_web::service_config::ServiceConfig;

#[derive(OpenApi)]
#[openapi(
    info(
        title = "linkout",
        description = "One shared account of every machine in the pits of a combat-robot event: what is live, what to do next, and whether the call will be met. It advises and records; it is never an interlock.",
        license(name = "MIT", identifier = "MIT"),
        contact(name = "The maintainers of linkout")
    ),
    modifiers(&Token),
    components(schemas(ProblemDocument))
)]
struct Published;

struct Token;

impl Modify for Token {
    fn modify(&self, document: &mut Document) {
        let scheme = HttpBuilder::new()
            .scheme(HttpAuthScheme::Bearer)
            .bearer_format("JWT")
            .description(Some(
                "The token of a session; browsers send it in the cookie `linkout`.",
            ))
            .build();
        if let Some(components) = &mut document.components {
            components.add_security_scheme("token", SecurityScheme::Http(scheme));
        }
    }
}

/// Adds every operation.
pub fn routes(config: &mut ServiceConfig) {
    config
        // An address is held against one after the other, so what is asked most stands first.
        .service(board::get_board)
        .service(lines::list_lines)
        .service(lines::hand_in_lines)
        .service(lines::empty_outbox)
        .service(stream::stream_changes)
        .service(robots::get_energy)
        .service(robots::list_hazards)
        .service(Collection::<thing::Robots>::new())
        .service(board::get_board_csv)
        .service(health::get_health)
        .service(sessions::sign_in)
        .service(sessions::look_at_join_code)
        .service(sessions::join_event)
        .service(sessions::get_session)
        .service(sessions::become_person)
        .service(sessions::sign_out)
        .service(events::list_events)
        .service(events::create_event)
        .service(events::get_event)
        .service(events::put_event)
        .service(calendars::make_calendar)
        .service(calendars::list_calendars)
        .service(calendars::end_calendar)
        .service(order::get_order)
        .service(order::change_order)
        .service(photos::send_photo)
        .service(photos::get_photo)
        .service(people::list_names)
        .service(people::put_person_name)
        .service(people::erase_person)
        .service(people::put_person_pin)
        .service(people::delete_person_pin)
        .service(people::end_sessions)
        .service(people::make_join_code)
        .service(people::withdraw_join_code)
        .service(rules::list_rules)
        .service(tasks::list_tasks)
        .service(robots::get_plan)
        .service(robots::get_link_plan)
        .service(clearance::get_clearance)
        .service(forecast::get_forecast)
        .service(spares::get_spares)
        .service(spares::get_spares_csv)
        .service(advice::get_advice)
        .service(advice::list_durations)
        .service(stations::list_stations)
        .service(stations::get_station)
        .service(stations::list_proofs)
        .service(gas::get_team_gas)
        .service(gas::get_bottle_gas)
        .service(packs::get_team_packs)
        .service(packs::get_pack_state)
        .service(packs::get_set_state)
        .service(charging::get_charging_table)
        .service(Collection::<thing::Teams>::new())
        .service(Collection::<thing::People>::new())
        .service(Collection::<thing::Packs>::new())
        .service(Collection::<thing::Sets>::new())
        .service(Collection::<thing::Channels>::new())
        .service(Collection::<thing::Chargers>::new())
        .service(Collection::<thing::Circuits>::new())
        .service(Collection::<thing::Bottles>::new())
        .service(Collection::<thing::Supplies>::new())
        .service(Collection::<thing::PartTypes>::new())
        .service(Collection::<thing::Bouts>::new())
        .service(calc::Calculators);
}

/// The published document without its operations, which [`routes`] add.
pub fn document() -> Document {
    Published::openapi()
}

/// The last touch to the published document once every operation is in it.
pub fn finish(document: &mut Document) {
    if let Some(components) = &mut document.components {
        line_form::add_kinds(&mut components.schemas);
        operation::close_choices(&mut components.schemas);
    }
    operation::add_problems(document);
}
