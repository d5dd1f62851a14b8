//! "Is it safe?": what is known against a pairing, how well, and how many of the young it would concern.

use super::super::cautions;
use super::super::sentences::aspects as tell;
use super::scene::Scene;
use crate::engine::odds::none;
use crate::reply::Reply;
use crate::species::GeneId;

/// Adds the summary; the cautions themselves stand first in the reply.
pub(super) fn safe(scene: &Scene<'_>, found: &[cautions::Caution], reply: &mut Reply) {
    let published = found.iter().filter(|c| c.published).count();
    reply.answer.push(tell::cautions_known(found.len(), published));
    let mut genes: Vec<GeneId> = found.iter().flat_map(|c| c.genes.iter().copied()).collect();
    genes.sort_unstable();
    genes.dedup();
    for gene in genes {
        let (any, two) = (scene.share_with(gene, 1), scene.share_of_harm(gene));
        if any > none() {
            let it = scene.species.gene(gene);
            reply.answer.push(tell::concerned(&it.entry.name, &any, &two, it.is_recessive(), scene.brood()));
        }
    }
    let sources = cautions::sources(scene.species, found);
    if !sources.is_empty() {
        reply.notes.push(tell::sources(&sources));
    }
    for note in cautions::on_request(scene.species, scene.pairing) {
        reply.notes.push(note);
    }
    if found.is_empty() {
        reply.notes.push(tell::none_known());
    }
}
