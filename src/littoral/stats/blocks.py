"""Values of a mixed model cut into blocks that share nothing: small matrices, many at once, instead of one large."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.stats.series import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Blocks:
    """m blocks of b values each: `value` (m, b), `design` (m, b, p), covariance matrices `parts` (m, k, b, b)."""

    value: FloatArray
    design: FloatArray
    parts: FloatArray


def split(value: FloatArray, design: FloatArray, stack: FloatArray) -> tuple[Blocks, ...]:
    """Return the blocks, one entry for each size, of values (n,) with design (n, p) and covariances (k, n, n).

    Two values are in one block where any of the covariances joins them, if only through others.
    """
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import connected_components

    _, label = connected_components(csr_array(np.any(stack != 0, axis=0)), directed=False)
    members = [np.flatnonzero(label == one) for one in range(label.max() + 1)]
    by_size: dict[int, list[int]] = {}
    for at, member in enumerate(members):
        by_size.setdefault(member.size, []).append(at)
    found = []
    for ats in by_size.values():
        index = np.stack([members[at] for at in ats])
        parts = stack[:, index[:, :, None], index[:, None, :]].swapaxes(0, 1)
        found.append(Blocks(value[index], design[index], np.ascontiguousarray(parts)))
    return tuple(found)


def with_rest(blocks: tuple[Blocks, ...]) -> tuple[Blocks, ...]:
    """Return the blocks with one more covariance, the independent rest's."""
    return tuple(
        Blocks(
            one.value,
            one.design,
            np.concatenate([one.parts, np.broadcast_to(np.eye(one.value.shape[1]), one.parts[:, :1].shape)], axis=1),
        )
        for one in blocks
    )


def inverses(theta: FloatArray, blocks: tuple[Blocks, ...]) -> tuple[list[FloatArray], float]:
    """Return the inverse (m, b, b) of each size's covariance with components `theta`, and the log determinant."""
    found = []
    log_det = 0.0
    for one in blocks:
        root = np.linalg.cholesky(np.einsum("k,mkij->mij", theta, one.parts))
        log_det += 2 * float(np.log(np.diagonal(root, axis1=1, axis2=2)).sum())
        half = np.linalg.inv(root)
        found.append(np.swapaxes(half, 1, 2) @ half)
    return found, log_det
