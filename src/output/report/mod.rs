//! x
use crate::plan::Plan;
/// x
#[must_use]
pub fn report_html(plan: &Plan) -> String {
    plan.title.clone()
}
