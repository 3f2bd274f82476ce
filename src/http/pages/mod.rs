//! Pages: functions that take a view and give markup, and the code that makes views of the pit.

pub mod announcements;
pub mod bench;
pub mod board;
pub mod bout;
pub mod bout_list;
pub mod calendars;
pub mod charging;
pub mod clearance;
pub mod danger;
pub mod durations;
pub mod duties;
pub mod form;
pub mod gas;
pub mod hazards;
pub mod join;
pub mod keypad;
pub mod link_plan;
pub mod logbook;
pub mod marshal;
pub mod packs;
pub mod parts;
pub mod photos;
pub mod postpone;
pub mod problem;
pub mod reader;
pub mod register;
pub mod report;
pub mod robot_now;
pub mod spares;
pub mod stations;
pub mod team;
pub mod wall;
pub mod words;

#[cfg(test)]
mod samples;

use actix_web::web;

macro_rules! addresses {
    ($($method:ident $upper:literal $path:literal => $handler:path;)*) => {
        /// Methods and addresses of the pages.
        pub const ADDRESSES: &[(&str, &str)] = &[$(($upper, $path),)*];

        /// Every page and everything its forms post to.
        pub fn routes(config: &mut web::ServiceConfig) {
            $(config.route($path, web::$method().to($handler));)*
        }
    };
}

addresses! {
    get "GET" "/" => join::routes::start;
    get "GET" "/join" => join::routes::to_join;
    get "GET" "/join/{code}" => join::routes::by_card;
    post "POST" "/join" => join::routes::joined;
    get "GET" "/sign-in" => join::routes::to_sign_in;
    post "POST" "/sign-in" => join::routes::signed_in;
    post "POST" "/sign-out" => join::routes::signed_out;
    get "GET" "/events/new" => register::routes::to_found;
    post "POST" "/events/new" => register::routes::found;
    get "GET" "/e/{event}" => join::routes::home;
    get "GET" "/e/{event}/me" => join::routes::who;
    post "POST" "/e/{event}/me" => join::routes::chosen;
    post "POST" "/e/{event}/me/pin" => join::routes::pin_set;
    post "POST" "/e/{event}/me/forgotten" => join::routes::pin_forgotten;
    get "GET" "/e/{event}/board" => board::routes::show;
    get "GET" "/e/{event}/order" => board::order::show;
    post "POST" "/e/{event}/order" => board::order::taken;
    get "GET" "/e/{event}/announcements" => announcements::routes::show;
    post "POST" "/e/{event}/announcements" => announcements::routes::announce;
    post "POST" "/e/{event}/announcements/{line}/seen" => announcements::routes::seen;
    get "GET" "/e/{event}/bout-list" => bout_list::routes::show;
    post "POST" "/e/{event}/bout-list" => bout_list::routes::listed;
    post "POST" "/e/{event}/bout-list/everybody" => bout_list::routes::everybody;
    get "GET" "/e/{event}/calendars" => calendars::routes::show;
    post "POST" "/e/{event}/calendars" => calendars::routes::made;
    post "POST" "/e/{event}/calendars/{calendar}/ended" => calendars::routes::ended;
    get "GET" "/e/{event}/calendar/{secret}" => calendars::routes::feed;
    get "GET" "/e/{event}/bouts/{bout}" => bout::routes::show;
    post "POST" "/e/{event}/bouts/{bout}/postponed" => bout::routes::postponed;
    post "POST" "/e/{event}/bouts/{bout}/called" => board::routes::called;
    post "POST" "/e/{event}/bouts/{bout}/started" => board::routes::started;
    post "POST" "/e/{event}/bouts/{bout}/ended" => board::routes::ended;
    post "POST" "/e/{event}/calls/moved" => board::routes::moved;
    get "GET" "/e/{event}/marshal" => marshal::routes::show;
    post "POST" "/e/{event}/stop" => marshal::routes::everyone;
    get "GET" "/e/{event}/team" => team::routes::show;
    get "GET" "/e/{event}/stations" => stations::routes::all;
    get "GET" "/e/{event}/stations/{station}" => stations::routes::show;
    post "POST" "/e/{event}/stations/{station}/steps" => stations::routes::stepped;
    post "POST" "/e/{event}/stations/{station}/results" => stations::routes::resulted;
    post "POST" "/e/{event}/stations/{station}/air" => stations::routes::air;
    get "GET" "/e/{event}/gas" => gas::routes::show;
    get "GET" "/e/{event}/gas/{bottle}" => gas::routes::bottle;
    get "GET" "/e/{event}/packs" => packs::routes::show;
    get "GET" "/e/{event}/packs/labels" => packs::routes::labels;
    get "GET" "/e/{event}/packs/{pack}" => packs::routes::one;
    post "POST" "/e/{event}/packs/{pack}" => packs::routes::looked;
    get "GET" "/e/{event}/sets/{set}" => packs::routes::of_set;
    get "GET" "/e/{event}/charging" => charging::routes::show;
    post "POST" "/e/{event}/charging" => charging::routes::said;
    get "GET" "/e/{event}/photos/{subject}" => photos::routes::show;
    post "POST" "/e/{event}/photos/{subject}" => photos::routes::sent;
    get "GET" "/e/{event}/wall" => wall::routes::show;
    get "GET" "/e/{event}/logbook" => logbook::routes::show;
    get "GET" "/e/{event}/lines/{line}" => report::routes::line;
    post "POST" "/e/{event}/lines/{line}" => report::routes::line_put_right;
    get "GET" "/e/{event}/robots/{robot}" => bench::routes::show;
    post "POST" "/e/{event}/robots/{robot}/tasks" => bench::routes::tasks;
    post "POST" "/e/{event}/robots/{robot}/looked" => bench::routes::looked;
    get "GET" "/e/{event}/rules" => hazards::routes::all;
    get "GET" "/e/{event}/rules/{rule}" => hazards::routes::one;
    get "GET" "/e/{event}/robots/{robot}/hazards" => hazards::routes::show;
    post "POST" "/e/{event}/robots/{robot}/hazards" => bench::routes::hazards;
    get "GET" "/e/{event}/robots/{robot}/found" => hazards::routes::to_find;
    post "POST" "/e/{event}/robots/{robot}/found" => hazards::routes::note;
    get "GET" "/e/{event}/robots/{robot}/start" => hazards::routes::to_start;
    post "POST" "/e/{event}/robots/{robot}/allow" => bench::routes::allow;
    get "GET" "/e/{event}/robots/{robot}/clearance" => clearance::routes::show;
    post "POST" "/e/{event}/robots/{robot}/clearance" => clearance::routes::say;
    post "POST" "/e/{event}/robots/{robot}/inside" => clearance::routes::inside;
    get "GET" "/e/{event}/robots/{robot}/postpone" => postpone::routes::show;
    post "POST" "/e/{event}/robots/{robot}/postpone" => postpone::routes::ask;
    get "GET" "/e/{event}/robots/{robot}/danger" => bench::routes::told;
    post "POST" "/e/{event}/robots/{robot}/danger" => bench::routes::tell;
    post "POST" "/e/{event}/robots/{robot}/duty" => duties::routes::say;
    get "GET" "/e/{event}/robots/{robot}/duties" => duties::routes::show;
    get "GET" "/e/{event}/robots/{robot}/report" => report::routes::all;
    get "GET" "/e/{event}/robots/{robot}/report/{report}" => report::routes::show;
    post "POST" "/e/{event}/robots/{robot}/report/{report}" => report::routes::enter;
    get "GET" "/e/{event}/robots/{robot}/look" => report::routes::look_at;
    post "POST" "/e/{event}/robots/{robot}/look" => report::routes::looked;
    get "GET" "/e/{event}/robots/{robot}/damage" => report::routes::damaged;
    post "POST" "/e/{event}/robots/{robot}/damage" => report::routes::damage_found;
    get "GET" "/e/{event}/robots/{robot}/call" => report::routes::call;
    post "POST" "/e/{event}/robots/{robot}/call" => report::routes::answered;
    post "POST" "/e/{event}/robots/{robot}/word" => report::routes::answered;
    get "GET" "/e/{event}/robots/{robot}/durations" => durations::show;
    get "GET" "/e/{event}/robots/{robot}/leak" => gas::leak::show;
    post "POST" "/e/{event}/robots/{robot}/leak" => gas::leak::tested;
    get "GET" "/e/{event}/robots/{robot}/regulator" => gas::regulator::show;
    post "POST" "/e/{event}/robots/{robot}/regulator" => gas::regulator::read;
    get "GET" "/e/{event}/robots/{robot}/plan" => link_plan::routes::show;
    get "GET" "/e/{event}/robots/{robot}/plan/card" => link_plan::routes::printed;
    get "GET" "/e/{event}/robots/{robot}/plan/edit" => link_plan::routes::to_edit;
    post "POST" "/e/{event}/robots/{robot}/plan/edit" => link_plan::routes::save;
    post "POST" "/e/{event}/robots/{robot}/plan/read-back" => link_plan::routes::read_back;
    post "POST" "/e/{event}/robots/{robot}/plan/confirm" => link_plan::routes::confirm;
    post "POST" "/e/{event}/robots/{robot}/plan/timed" => link_plan::routes::timed;
    get "GET" "/e/{event}/sets/{set}/volts" => keypad::routes::volts;
    post "POST" "/e/{event}/sets/{set}/volts" => keypad::routes::measured;
    get "GET" "/e/{event}/bottles/{bottle}/mass" => keypad::gas::mass;
    post "POST" "/e/{event}/bottles/{bottle}/mass" => keypad::gas::weighed;
    get "GET" "/e/{event}/supplies/{supply}/mass" => keypad::gas::supply;
    post "POST" "/e/{event}/supplies/{supply}/mass" => keypad::gas::supply_weighed;
    get "GET" "/e/{event}/spares" => spares::routes::show;
    get "GET" "/e/{event}/spares/packing" => spares::packing::routes::show;
    get "GET" "/e/{event}/spares/lists" => spares::routes::lists;
    get "GET" "/e/{event}/spares/csv" => spares::csv::show;
    post "POST" "/e/{event}/spares/csv" => spares::csv::enter;
    get "GET" "/e/{event}/spares/{part}" => spares::part::routes::show;
    post "POST" "/e/{event}/spares/{part}" => spares::part::routes::entered;
    get "GET" "/e/{event}/register" => register::routes::all;
    post "POST" "/e/{event}/register/codes" => register::routes::card;
    get "GET" "/e/{event}/register/several/{noun}" => register::bulk::routes::show;
    post "POST" "/e/{event}/register/several/{noun}" => register::bulk::routes::save;
    get "GET" "/e/{event}/register/library/{team}/{machine}" => register::library::routes::show;
    get "GET" "/e/{event}/register/library/{team}/{machine}/{task}" => register::library::routes::show_task;
    post "POST" "/e/{event}/register/library/{team}/{machine}/{task}" => register::library::routes::save_task;
    get "GET" "/e/{event}/register/{noun}/{id}" => register::routes::show;
    post "POST" "/e/{event}/register/{noun}/{id}" => register::routes::save;
}
