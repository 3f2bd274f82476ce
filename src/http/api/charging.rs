//! The charging table of a team: what runs, what goes on next and for which bout, what the mains carry.

use crate::app::AppError;
use crate::auth::Action;
use crate::calc::battery::{LateCause, MainsVerdict, SupplyKind};
use crate::http::{Problem, signed::Here};
use crate::pit::ids::{BoutId, ChannelId, CircuitId, PackId, RobotId, SetId, TeamId};
use crate::pit::packs::table::{BoutPacks, ChannelNow, MainsCurve, MainsNow, Table, ToCharge};
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// A charge that runs.
#[derive(Debug, Serialize, ToSchema)]
struct RunningView {
    /// What.
    pack: PackId,
    /// As part of which set.
    set: Option<SetId>,
    /// Since when.
    since: DateTime<Utc>,
    /// When it is over, with its margin.
    until: DateTime<Utc>,
}

/// A channel.
#[derive(Debug, Serialize, ToSchema)]
struct ChannelNowView {
    /// Which.
    channel: ChannelId,
    /// What runs on it.
    running: Vec<RunningView>,
}

/// A charge that is to begin.
#[derive(Debug, Serialize, ToSchema)]
struct ToChargeView {
    /// What.
    pack: PackId,
    /// On which channel.
    channel: ChannelId,
    /// For which bout.
    bout: BoutId,
    /// From when.
    from: DateTime<Utc>,
    /// Until when, with its margin.
    to: DateTime<Utc>,
    /// Current to set, A.
    charge_a: f64,
    /// The current is below what channel and pack allow, for the mains' sake.
    lowered: bool,
}

/// Packs for a bout.
#[derive(Debug, Serialize, ToSchema)]
struct BoutPacksView {
    /// Which.
    bout: BoutId,
    /// The robot of the team.
    robot: RobotId,
    /// Its call.
    call_at: DateTime<Utc>,
    /// The set for it; none if none can serve.
    set: Option<SetId>,
    /// It waits for a charge.
    charges: bool,
    /// When the last of its packs can be fitted.
    ready_at: Option<DateTime<Utc>>,
    /// Minutes to spare before fitting must begin; negative is late.
    slack_min: Option<f64>,
    /// Why it is late.
    late: Option<LateCause>,
}

/// The load from a moment to the next.
#[derive(Debug, Serialize, ToSchema)]
struct LoadStepView {
    /// From when.
    from: DateTime<Utc>,
    /// Current, A.
    load_a: f64,
}

/// A circuit, lead or generator.
#[derive(Debug, Serialize, ToSchema)]
struct MainsView {
    /// Which.
    circuit: CircuitId,
    /// What it is.
    kind: SupplyKind,
    /// Whether it carries what runs and is to come; none if its rating is not entered.
    verdict: Option<MainsVerdict>,
    /// Its rating, A.
    rating_a: f64,
    /// What is planned with, A.
    planned_a: f64,
    /// Highest current, A.
    peak_a: f64,
    /// When that begins.
    peak_from: Option<DateTime<Utc>>,
    /// Everything that runs and is to come.
    all: Vec<LoadStepView>,
    /// What runs now.
    running: Vec<LoadStepView>,
}

/// A team's charging table.
#[derive(Debug, Serialize, ToSchema)]
struct ChargingTableView {
    /// Its channels in use, by label.
    channels: Vec<ChannelNowView>,
    /// Charges to come, by their beginning.
    to_charge: Vec<ToChargeView>,
    /// Bouts to come, by call.
    bouts: Vec<BoutPacksView>,
    /// What its channels draw through.
    mains: Vec<MainsView>,
    /// Why nothing can be shared out.
    faults: Vec<String>,
    /// The last line it knows of.
    last_seq: i64,
    /// As of then.
    now: DateTime<Utc>,
}

fn channel(channel: &ChannelNow) -> ChannelNowView {
    ChannelNowView {
        channel: channel.id,
        running: channel
            .running
            .iter()
            .map(|running| RunningView {
                pack: running.pack,
                set: running.set,
                since: running.since,
                until: running.until,
            })
            .collect(),
    }
}

fn to_charge(charge: &ToCharge) -> ToChargeView {
    ToChargeView {
        pack: charge.pack,
        channel: charge.channel,
        bout: charge.bout,
        from: charge.from,
        to: charge.to,
        charge_a: charge.amps,
        lowered: charge.lowered,
    }
}

fn bout(bout: &BoutPacks) -> BoutPacksView {
    BoutPacksView {
        bout: bout.bout,
        robot: bout.robot,
        call_at: bout.call,
        set: bout.set,
        charges: bout.charges,
        ready_at: bout.ready_at,
        slack_min: bout.slack.map(|slack| slack.as_seconds_f64() / 60.0),
        late: bout.late,
    }
}

fn steps(curve: &MainsCurve) -> Vec<LoadStepView> {
    curve
        .iter()
        .map(|(from, load_a)| LoadStepView {
            from: *from,
            load_a: *load_a,
        })
        .collect()
}

fn mains(mains: &MainsNow) -> MainsView {
    MainsView {
        circuit: mains.id,
        kind: mains.kind,
        verdict: mains.verdict,
        rating_a: mains.rating_a,
        planned_a: mains.planned_a,
        peak_a: mains.peak.0,
        peak_from: mains.peak.1,
        all: steps(&mains.all),
        running: steps(&mains.running),
    }
}

/// Shows a team's charging table
///
/// What runs on each channel, which set goes on which channel next so that every bout has one in
/// time, why one is late, and what leads, circuits and generators carry. Sets are shared out by a list
/// rule in order of call; packs of different sets are never mixed.
#[utoipa::path(
    operation_id = "get_charging_table", tag = "teams", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("team" = uuid::Uuid, Path, description = "The team."),
    ),
    responses((status = 200, description = "Channels, charges, bouts and mains.", body = ChargingTableView)),
)]
#[get("/api/v1/events/{event}/teams/{team}/charging")]
pub async fn get_charging_table(
    here: Here,
    path: web::Path<(String, TeamId)>,
) -> Result<HttpResponse, Problem> {
    here.signed.sees(Action::SeeStations, Some(path.1))?;
    if !here.pit.teams.contains_key(&path.1) {
        return Err(AppError::Unknown.into());
    }
    let table = Table::of(&here.pit, path.1, here.now);
    Ok(HttpResponse::Ok().json(ChargingTableView {
        channels: table.channels.iter().map(channel).collect(),
        to_charge: table.to_charge.iter().map(to_charge).collect(),
        bouts: table.bouts.iter().map(bout).collect(),
        mains: table.mains.iter().map(mains).collect(),
        faults: table.faults,
        last_seq: here.pit.last_seq,
        now: here.now,
    }))
}
