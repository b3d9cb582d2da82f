//! The proof that comes before any file.

use super::plan_json;
use crate::diag::Diagnostics;
use crate::plan::{Plan, recheck};

/// A plan whose written numbers were read back and proved. Files are made of nothing else.
///
/// ```compile_fail,E0308
/// fn files_without_proof(plan: warpwise::plan::Plan) {
///     warpwise::output::all(&plan);
/// }
/// ```
#[derive(Clone, Debug)]
pub struct ProvenPlan {
    plan: Plan,
    text: String,
}

impl ProvenPlan {
    /// Writes `plan.json` and proves what it says against the pieces of the plan.
    ///
    /// # Errors
    /// Everything that does not hold: see [`recheck`].
    pub fn prove(plan: Plan) -> Result<Self, Diagnostics> {
        let text = plan_json(&plan);
        recheck(&text, plan.pieces())?;
        Ok(Self { plan, text })
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The text of `plan.json`.
    #[must_use]
    pub fn plan_json(&self) -> &str {
        &self.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::tests::{planned, with_overlap};

    #[test]
    fn a_plan_with_pieces_on_each_other_is_no_proven_plan() {
        let plan = planned();
        assert!(ProvenPlan::prove(plan.clone()).is_ok());
        let problems = ProvenPlan::prove(with_overlap(plan)).unwrap_err();
        assert!(
            problems
                .iter()
                .any(|p| p.message.contains("less than the gap"))
        );
    }
}
