//! `/api/v1/events/{event}/rules`: what is watched, where it comes from, how this event sets it.

use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::hazards::{ClearsBy, Mark, Rule, Severity};
use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A rule that is watched.
#[derive(Debug, Serialize, ToSchema)]
pub struct RuleView {
    /// Its id.
    #[schema(example = "H07")]
    id: &'static str,
    /// What it is called.
    title: &'static str,
    /// The condition, as written for programs; no language that anything evaluates.
    when: &'static str,
    /// Who has to be exposed before it speaks.
    exposure: &'static str,
    /// How bad it is when it is raised.
    severity: Severity,
    /// When it rises.
    rises: Option<&'static str>,
    /// Who is told.
    #[schema(max_items = 8)]
    tell: &'static [String],
    /// What to do.
    advise: &'static str,
    /// What clears it.
    clears_when: &'static str,
    /// Who clears it.
    clears_by: ClearsBy,
    /// When it is likely to be wrong.
    likely_false_alarm: &'static str,
    /// How far to trust it.
    mark: Mark,
    /// Ids of its sources.
    #[schema(max_items = 8)]
    basis: &'static [String],
    /// Settings that change it, with their values at this event.
    settings: BTreeMap<&'static str, Value>,
}

/// Every rule.
#[derive(Debug, Serialize, ToSchema)]
pub struct RulesView {
    /// The rules, in order of id.
    #[schema(max_items = 30)]
    rules: Vec<RuleView>,
}

/// Lists the rules
///
/// Advice for people, never a control: nothing here unlocks, energises or refuses anything.
#[utoipa::path(
    operation_id = "list_rules", tag = "robots", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "What is watched.", body = RulesView)),
)]
#[get("/api/v1/events/{event}/rules")]
pub async fn list_rules(here: Here, _event: web::Path<String>) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeTheHall)?;
    let settings = json!(here.pit.settings());
    let rules = Rule::all().map(|rule| RuleView {
        id: rule.id(),
        title: rule.title(),
        when: rule.when(),
        exposure: rule.exposure(),
        severity: rule.severity(),
        rises: rule.escalates(),
        tell: rule.tell(),
        advise: rule.advise(),
        clears_when: rule.clears_when(),
        clears_by: rule.clears_by(),
        likely_false_alarm: rule.likely_false_alarm(),
        mark: rule.mark(),
        basis: rule.basis(),
        settings: rule
            .settings()
            .iter()
            .map(|name| (name.as_str(), settings[name.as_str()].clone()))
            .collect(),
    });
    Ok(HttpResponse::Ok().json(RulesView {
        rules: rules.collect(),
    }))
}
