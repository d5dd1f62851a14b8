//! Tests by user role and by source.

mod pairs; // short words for the engine's tests
#[cfg(feature = "discord")]
mod platform; // a stand-in of Discord for the real program

mod anything; // whatever is typed
mod bayes_network; // a general Bayes-network library
mod binomials; // a general statistics crate
mod calendar; // dates from signs, and their file
mod carrier_evidence; // Ogino and Wilson 2004, textbook problems, tables
mod castle_little_1910; // lethal yellow mice
mod catalogue; // the gene files
mod catalogue_values; // entered a second time
mod clashes; // records that contradict each other
mod clutch_mixing; // eggs of uncertain parents
mod common_practice; // what every breeder knows
mod corpus; // the labelled messages
mod demo; // the invented community
mod enumeration; // the engine's slow twin
mod evidence_enumeration; // slow twin of the evidence
mod explanations; // topics, cards, a community's own words
mod files; // a collection to a file and back; a stranger's sheet
mod hidden_projects; // where only looks are seen, and their slow twin
mod house; // the arrows between the rooms
mod json_lines; // damaged requests
mod keeper; // a keeper talks of their animals
mod keeper_dates; // a keeper asks when
mod keeper_evidence; // a keeper proves animals out
mod keeper_goals; // a keeper works towards goals
mod keeper_home; // a keeper says where they are
mod keeper_remind; // a keeper sets reminders
mod keeper_season; // a keeper pairs for a season
mod kin; // short words for pedigrees
mod label_passing; // "66 % het" and its like
mod member; // odds in a chat
mod mendel_1866; // peas
mod morrill_2011; // ball python clutches
#[cfg(feature = "discord")]
mod on_discord; // the real program on the stand-in
mod partial_sex_linkage; // X and Y sides; white eyes
mod pedigree_lines; // evidence and relationship in JSON
mod pictures; // pictures, and what fits on them
mod plan_lines; // plans in JSON lines
mod played; // projects under the policy that is proposed
mod projects; // season by season, and their slow twin
mod readme; // the talk it shows
mod records; // what messages tell of animals
mod relationship; // books and lecture notes
mod replies; // every kind of reply, word for word
mod restating; // what is kept of a talk
mod routes; // the least-time plans and their slow twin
mod seasons; // the pairings of a season
mod sedcole_1977; // numbers needed
mod settings; // what an operator may set
mod store; // the database, both kinds
mod terminal; // the process at a command line
mod test_mating; // exposing a carrier

/// Cases of a property test: `usual`, or as many as the environment variable `HATCHWARD_CASES` says for a long run.
fn cases(usual: u32) -> u32 {
    std::env::var("HATCHWARD_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}
